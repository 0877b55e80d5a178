"""What is drawn over a person's own film: the story of some runs, its look, and where everything is placed.

Pictures here are arrays; no file is read or written but the letters' font.
"""
