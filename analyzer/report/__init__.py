"""The report step: a debrief as text, JSON, pictures and a page. It shows what the checks found and judges nothing itself."""
