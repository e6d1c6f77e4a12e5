"""One file per link of the chain: SI floats and arrays in and out, pure, broadcasting."""
