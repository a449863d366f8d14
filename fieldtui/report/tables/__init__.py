"""What the HTML report says, table by table."""
