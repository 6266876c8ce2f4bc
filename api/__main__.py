"""``python -m api``: the command line without its entry point."""

from api.cli import main

if __name__ == "__main__":
    main()
