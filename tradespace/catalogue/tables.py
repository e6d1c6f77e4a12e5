"""Names of the two files of a catalogue, shipped or the user's own."""

CATALOGUE = "bodies.csv"
ELEMENTS = "body_elements.csv"
