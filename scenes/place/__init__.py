"""Where the arrays should hang, proven."""
