"""What has been checked against something outside this project, and the checks themselves.

The values stand in `values/*.csv`, one a row, each with its source, tolerance, unit and reason. The tests and
`zonule verify` read the same rows and ask the same questions of the installed code.
"""
