"""The virtual darkroom: modelled lamps, paper with curves, and a picture of the sheet."""
