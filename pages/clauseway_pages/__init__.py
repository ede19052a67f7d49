"""The site: a page for every provision, code, fact and computation, made from the resolved rules."""
