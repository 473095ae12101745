"""The keeper: what owns the lamp. One link, one contract, whoever is at the other end."""
