"""The command line: ``command_line`` lists all commands, and loads the one that is called."""
