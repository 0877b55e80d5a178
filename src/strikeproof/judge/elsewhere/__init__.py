"""Several campaigns, benches and published summaries in one network of ratios."""
