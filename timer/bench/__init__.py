"""The virtual darkroom: a lamp that behaves, paper with curves, and a sheet that can be looked at."""
