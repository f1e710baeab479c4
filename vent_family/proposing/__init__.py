"""From a requirement to rows that do it: candidates, their front, options to choose from."""
