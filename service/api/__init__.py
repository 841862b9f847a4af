"""The interface: JSON over HTTP, one module of views per noun, one routing layer under them."""
