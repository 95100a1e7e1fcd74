"""What the surgeon does, as verbs: measure, plan, operate, review, learn."""
