"""`python -m tickover.demo`: make the running demo's synthetic recordings anew."""

from tickover.demo.recordings import main

main()
