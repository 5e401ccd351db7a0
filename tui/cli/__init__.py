"""The command line. Each command is a module that is imported only when it is called."""
