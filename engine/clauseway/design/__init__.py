"""What a designer can do: what an arrangement needs, the least change that complies, what can never be permitted."""
