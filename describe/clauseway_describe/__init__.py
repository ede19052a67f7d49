"""A page on which an opening is described in a browser: the engine itself runs there, on compiled rulebooks."""
