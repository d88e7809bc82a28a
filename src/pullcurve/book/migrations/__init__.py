"""How the tables of the book came to be, step by step; a step is never changed once it is out."""
