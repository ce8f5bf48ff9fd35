"""Arithmetic on arrays: numpy in, numpy out; no table, instrument or file is known here."""
