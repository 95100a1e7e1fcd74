"""What is known about a case: frozen records, and the rules they keep."""
