"""A food-safety log and cooling-curve checker for kitchens that cook in large batches."""

__version__ = "0.1.0"
