"""The commands, one module a subject; each calls services, which are imported only when a command runs."""
