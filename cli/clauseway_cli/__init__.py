"""The command line of Clauseway: thin commands that turn answers into text, JSON and files."""
