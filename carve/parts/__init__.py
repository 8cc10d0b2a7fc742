"""The parts of an instrument: what each is made from, made of and shown by."""
