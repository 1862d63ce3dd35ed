"""The order of a rotation: the search, its bounds and its proof.

``solve.solve`` is the one way in; ``reading.problem_from_json`` reads the problem file;
``matrix.order_matrix`` orders the rows of a matrix given as such.
"""
