"""One physical part a file: SI in, SI out, pure, elementwise over floats or arrays of designs."""
