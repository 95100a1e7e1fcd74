"""The command line: check, call one workflow, answer."""
