"""Lets `python -m powersim` do what the command `powersim` does."""

from powersim.cli.main import main

if __name__ == "__main__":
    main()
