"""The faces: command line and web. They format; they never query or decide."""
