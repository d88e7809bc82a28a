"""What is printed and drawn: figures, their look, and their way onto paper."""
