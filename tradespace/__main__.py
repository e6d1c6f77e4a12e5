"""``python -m tradespace`` is the command line."""

from tradespace.cli import main

if __name__ == "__main__":
    main()
