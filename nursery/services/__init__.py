"""One function per thing a person does: session and actor in; never commits, knows no Flask."""
