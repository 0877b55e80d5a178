"""What is asked beside "article against the reference": any two, any combination, the best, the tools."""
