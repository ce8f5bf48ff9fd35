"""Eight invented studies for orchestra and chorus, each with a truth that was written first.

`python -m studies.generate` (from `tests`) composes them, writes the scores among the invented
scores of the package and the truths beside this file. It shares no code with the pipeline.
"""
