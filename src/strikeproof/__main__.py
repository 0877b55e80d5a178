"""`python -m strikeproof` is the same as `strikeproof`."""

from strikeproof.cli import main

main()
