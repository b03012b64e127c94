"""The section controller, the machine's response, one full simulation, and the ledger."""
