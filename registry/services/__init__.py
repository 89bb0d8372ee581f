"""One function for each thing a person does, each with its actor."""
