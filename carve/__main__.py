"""Where the program ``carve`` begins: what Ctrl-C does is settled before anything else is read."""

import sys

from carve.stop import end_when_asked


def main() -> int:
    """Run the command line as a program of its own. Returns the exit status.

    A request to stop ends it at once, with 128 and the number of the signal: 130 after Ctrl-C.
    """
    from carve.cli import main as run  # late: a Ctrl-C may come while this is read

    return run()


end_when_asked()
if __name__ == "__main__":
    sys.exit(main())
