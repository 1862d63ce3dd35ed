"""Lower bounds on what is still to be paid, each with its argument; the models stand elsewhere."""
