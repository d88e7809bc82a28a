"""One function per thing a person can ask; each returns one frozen answer and prints nothing."""
