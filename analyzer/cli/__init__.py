"""The command line: arguments in, one call of the library, text out. Heavy modules are imported inside the commands."""
