"""`python -m supervisor.cli`: the command line without its installed name."""

from supervisor.cli import main

main(prog_name="meltkeeper")
