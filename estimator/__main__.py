"""Run the command with ``python -m estimator``."""

from estimator.cli.main import command

if __name__ == "__main__":
    command()
