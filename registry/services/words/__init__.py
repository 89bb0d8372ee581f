"""Sentences about what services answer: the window, the command line and paper say it alike."""
