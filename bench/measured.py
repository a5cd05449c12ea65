#!/usr/bin/python3
"""Runs a command in a fresh process and tells its exit status, wall seconds and peak resident memory.

Linux keeps the peak of the process that forked, so a large caller would be charged to a small command. This file is
therefore its own launcher: the caller starts it anew, with nothing loaded, and it starts the command (floor: 10 MB).
"""
import json
import os
import subprocess
import sys
import time


def measure(command):
    """Returns (exit status, wall seconds, peak MB, last line of stderr)."""
    read, write = os.pipe()
    launcher = [sys.executable, "-S", "-E", __file__, str(write), *map(str, command)]
    child = subprocess.Popen(launcher, pass_fds=[write], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    os.close(write)
    message = child.communicate()[1].decode(errors="replace").strip().splitlines()
    with os.fdopen(read) as pipe:
        status, seconds, peak_MB = json.loads(pipe.read() or "[127, 0, 0]")
    return status, seconds, peak_MB, message[-1] if message else ""


def launch(descriptor, command):
    began = time.perf_counter()
    pid = os.posix_spawnp(command[0], command, os.environ, file_actions=[(os.POSIX_SPAWN_CLOSE, descriptor)])
    _, status, usage = os.wait4(pid, 0)
    result = [os.waitstatus_to_exitcode(status), time.perf_counter() - began, usage.ru_maxrss / 1024]
    os.write(descriptor, json.dumps(result).encode())


if __name__ == "__main__":
    launch(int(sys.argv[1]), sys.argv[2:])
