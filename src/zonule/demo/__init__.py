"""An invented clinic whose eyes follow published population figures and whose outcomes the planner cannot read."""
