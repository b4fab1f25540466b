"""A batch's life as phases without a gap, each explained by the Food Code or told of."""
