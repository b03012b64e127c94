"""What people describe: machine, field, plan, settings; and the Scenario that holds them."""
