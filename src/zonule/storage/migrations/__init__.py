"""Every step the tables have taken, from the first one on."""
