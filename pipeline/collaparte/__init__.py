"""Orchestral scores as tables: who doubles whom, in which register, in which bars."""
