"""Pure darkroom arithmetic: no clock, no files, no lamp."""
