"""One way of solving for each kind of rotation: from the problem to a model and back to a plan."""
