"""One module a command; `comeback.cli.main` finds them here by themselves."""
