"""Commands, a module each: parse, call, print. Nothing heavy is imported before it is needed."""
