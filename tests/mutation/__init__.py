"""Small wrong changes, one at a time: how many of them do the tests notice?"""
