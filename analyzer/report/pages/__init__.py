"""Pages: HTML for a browser or a notebook, PDF for paper."""
