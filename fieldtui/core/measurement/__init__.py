"""What is measured, and how well: resistances, voltages, uncertainty, decision rules."""
