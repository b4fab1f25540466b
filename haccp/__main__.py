from haccp.cli.main import cli


def main() -> None:
    """Run the command line; its exit codes are in the README."""
    cli(prog_name="haccp")


if __name__ == "__main__":
    main()
