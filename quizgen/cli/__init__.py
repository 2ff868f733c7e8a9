"""The command line: the only place that prints, and that turns errors into exit codes."""
