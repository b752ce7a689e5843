"""What a script or notebook calls: the jobs whose results write and show themselves, the plots, and tables for pandas."""
