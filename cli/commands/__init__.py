"""One module a command; `comeback.cli.command_line` finds them here by themselves."""
