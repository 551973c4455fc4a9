"""This season's rates beside those that were planned with, what the errors cost, and what changes next time."""
