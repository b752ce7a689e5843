"""The desk: pages served by this computer to itself, where logs are dropped, charts drawn and flights debriefed.

Everything is stored in one folder, in plain files. Worker processes do the same work on a flight as the command line.
"""
