"""Scripts that make the shipped property tables (extra ``tables``)."""
