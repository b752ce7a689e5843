"""The desk: pages served from this computer to this computer, where logs are dropped, charts drawn and flights debriefed.

All that is kept is in one folder, in plain files. The work on a flight is that of the command line, done in worker processes.
"""
