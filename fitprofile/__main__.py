"""``python -m fitprofile``: the same command as the console script."""

from fitprofile.cli import main

if __name__ == "__main__":
    main()
