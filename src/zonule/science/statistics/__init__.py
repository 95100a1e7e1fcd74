"""What many eyes say: outcome summaries and how much to believe them."""
