"""The browser app: check, call one workflow, answer."""
