"""The results as data for others: tables with units, and the papers that describe a bundle of files."""
