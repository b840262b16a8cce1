"""How everybody talks to the supervisor: docs/link.md is its contract, `client` its other end."""
