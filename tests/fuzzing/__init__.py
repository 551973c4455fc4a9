"""Bad input, tried by the thousand: no answer may be a fault of ours (`python -m tests.fuzzing --tries 20000`)."""
