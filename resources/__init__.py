"""Tables, sentences and drawings that ship with the program; registry.resources reads them."""
