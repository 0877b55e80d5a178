"""From samples to blows, growth curve, score and quality flags."""
