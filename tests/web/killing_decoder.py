"""A decoder of pictures that one of them ends, and its process with it."""

DEADLY = b"ends whoever decodes it"
# written as sitecustomize.py, it is taken in by every Python that is started with the folder in its path
DECODER = f"""
import os, PIL.Image
plain = PIL.Image.open
def open(file, *given, **named):
    if {DEADLY!r} in file.getvalue():
        os.kill(os.getpid(), 11)
    return plain(file, *given, **named)
PIL.Image.open = open
"""
