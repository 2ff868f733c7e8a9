"""What was answered, what it is worth and why that changed: kept in a database."""
