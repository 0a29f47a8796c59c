"""Runs a program in a pseudo-terminal and prints what it wrote there: in_terminal.py COLUMNS [-c] PROGRAM ARG…

-c: presses Ctrl-C once the program has said that this ends it. The exit code is the program's.
"""
import fcntl
import os
import pty
import struct
import sys
import termios

columns = int(sys.argv[1])
press = sys.argv[2] == "-c"
words = sys.argv[3 if press else 2:]
pid, terminal = pty.fork()
if pid == 0:
    fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    os.execv(words[0], words)
written = b""
while True:
    try:
        piece = os.read(terminal, 65536)
    except OSError:  # Linux says EIO when the other side has ended
        break
    if not piece:
        break
    written += piece
    if press and b"Ctrl-C ends.\r\n" in written:
        os.write(terminal, b"\x03")
        press = False
sys.stdout.buffer.write(written)
sys.stdout.flush()
sys.exit(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]))
