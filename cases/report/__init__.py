"""A run as one page to read, print or hand on, and single figures for a slide or a paper."""
