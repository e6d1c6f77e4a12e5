"""Tables the package ships, and the scripts that make them."""
