"""A food-safety log and cooling-curve checker for kitchens that cook in large batches.

Public are the commands, and for other programs `haccp.frames` and `haccp.errors.Refused`;
everything else may change from one version to the next.
"""

__version__ = "0.1.0"
