"""`python -m tickover`."""

from tickover.cli import main

if __name__ == "__main__":
    main()
