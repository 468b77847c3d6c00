"""Lets `python -m powersim` do what the command `powersim` does."""

from powersim.cli.start import main

if __name__ == "__main__":
    main()
