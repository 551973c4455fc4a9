"""Who may sign in, and as what.

``people`` invites and changes accounts, ``sign_in`` lets them in, ``rights`` says what each role may do.
"""
