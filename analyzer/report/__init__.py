"""The report step: a debrief as text, JSON, pictures and a page. It prints what the checks found and computes nothing of its own."""
