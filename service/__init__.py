"""A recipe-scaling and prep-list service for multi-site kitchens."""

__version__ = "0.2.0"
