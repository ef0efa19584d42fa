"""What the fault injections share: the program under test, damage to files, netCDF read by the system's library."""

import ctypes
import ctypes.util
import hashlib
import json
import os
import pathlib
import random
import re
import resource
import shutil
import signal
import subprocess
import time

PROJECT = pathlib.Path(__file__).resolve().parents[2]
CASES = PROJECT / 'cases'
FAILED = (2, 3)  # exit statuses of an error that is told


class Result:
    def __init__(self, status, output, error, peak_MiB, seconds):
        self.status, self.output, self.error = status, output, error
        self.peak_MiB, self.seconds = peak_MiB, seconds

    @property
    def code(self):
        """The slug of the first error that is told."""
        found = re.search(rb'error ([a-z0-9-]+): ', self.error)
        return found.group(1).decode() if found else ''

    def refused(self, *codes):
        return self.status in FAILED and bool(self.code) and (not codes or self.code in codes)

    def __str__(self):
        if self.status < 0:
            return f'ended by signal {-self.status}'
        return f'status {self.status}' + (f' {self.code}' if self.code else '')


class Program:
    """tileflux, run in a folder of its own."""

    def __init__(self, command, folder):
        self.command, self.folder = str(pathlib.Path(command).resolve()), pathlib.Path(folder)

    def start(self, words, wrapper=(), env=None, limits=(), stdout=subprocess.PIPE):
        def prepare():
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            for which, most in limits:
                resource.setrlimit(which, (most, most))

        words = [os.fsencode(str(w)) for w in (*wrapper, self.command, *words)]
        return subprocess.Popen(words, cwd=self.folder, stdout=stdout, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL,
                                env={**os.environ, **(env or {})}, preexec_fn=prepare)

    def __call__(self, *words, timeout=300, **how):
        begin = time.monotonic()
        process = self.start(words, **how)
        try:
            output, error = process.communicate(timeout=timeout)
        except subprocess.TimeoutExpired:
            process.kill()
            output, error = process.communicate()
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024  # of the largest child so far
        return Result(process.returncode, output or b'', error or b'', peak, time.monotonic() - begin)

    def measured(self, *words, timeout=300):
        """The same with the peak memory of this process alone."""
        begin = time.monotonic()
        with open(self.folder / 'told', 'w+b') as told, open(self.folder / 'error', 'w+b') as error:
            pid = os.posix_spawn(self.command, [self.command, *map(str, words)], os.environ,
                                 file_actions=[(os.POSIX_SPAWN_DUP2, told.fileno(), 1),
                                               (os.POSIX_SPAWN_DUP2, error.fileno(), 2)])
            while True:
                done, status, usage = os.wait4(pid, os.WNOHANG)
                if done:
                    break
                if time.monotonic() - begin > timeout:
                    os.kill(pid, signal.SIGINT)
                    done, status, usage = os.wait4(pid, 0)
                    break
                time.sleep(0.005)
            told.seek(0)
            error.seek(0)
            return Result(os.waitstatus_to_exitcode(status), told.read(), error.read(), usage.ru_maxrss / 1024,
                          time.monotonic() - begin)

    def killed_after(self, words, seconds, how=signal.SIGKILL, env=None):
        """Runs for so long; true if it was still at work."""
        process = self.start(words, stdout=subprocess.DEVNULL, env=env)
        try:
            process.wait(timeout=seconds)
            alive = False
        except subprocess.TimeoutExpired:
            process.send_signal(how)
            alive = True
        process.communicate()
        return alive


def files_in(folder):
    """Name and digest of every file, without those that are being written (hidden)."""
    folder = pathlib.Path(folder)
    if not folder.is_dir():
        return {}
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.iterdir())
            if p.is_file() and not p.name.startswith('.')}


def fresh(folder):
    shutil.rmtree(folder, ignore_errors=True)
    return pathlib.Path(folder)


def damages(data, count, seed):
    """Ways to damage a file: cut at `count` places, and in each of `count` equal ranges a byte changed, eight bytes
    wiped, a piece removed or doubled. Each with a word for it."""
    choose = random.Random(seed)
    size = len(data)
    for i in range(count):
        yield f'cut to {size * i // count} of {size} bytes', data[:size * i // count]
    for i in range(count):
        at = size * i // count + choose.randrange(max(1, size // count))
        at = min(at, size - 1)
        kind = choose.choice(('changed', 'wiped', 'removed', 'doubled'))
        length = 1 + choose.randrange(40)
        if kind == 'changed':
            new = data[:at] + bytes([data[at] ^ (1 << choose.randrange(8))]) + data[at + 1:]
        elif kind == 'wiped':
            new = data[:at] + bytes(len(data[at:at + 8])) + data[at + 8:]
        elif kind == 'removed':
            new = data[:at] + data[at + length:]
        else:
            new = data[:at + length] + data[at:]
        if new != data:
            yield f'{kind} at byte {at} of {size}', new


def same_content(a, b):
    """Whether two JSON texts hold the same."""
    try:
        return json.loads(a) == json.loads(b)
    except ValueError:
        return False


def finite_json(text):
    """The JSON, refused if a number in it is none."""
    def refuse(word):
        raise ValueError(word)
    return json.loads(text, parse_constant=refuse)


class Netcdf:
    """Numbers of a variable, read by the netCDF library of the system; None where it does not open the file."""

    def __init__(self):
        name = ctypes.util.find_library('netcdf')
        self.library = ctypes.CDLL(name) if name else None

    def numbers(self, path, variable):
        nc, file, identity = self.library, ctypes.c_int(), ctypes.c_int()
        if nc.nc_open(os.fsencode(path), 0, ctypes.byref(file)) != 0:
            return None
        try:
            if nc.nc_inq_varid(file, variable.encode(), ctypes.byref(identity)) != 0:
                return None
            count, size = ctypes.c_int(), 1
            nc.nc_inq_varndims(file, identity, ctypes.byref(count))
            dimensions = (ctypes.c_int * count.value)()
            nc.nc_inq_vardimid(file, identity, dimensions)
            for dimension in dimensions:
                length = ctypes.c_size_t()
                nc.nc_inq_dimlen(file, dimension, ctypes.byref(length))
                size *= length.value
            values = (ctypes.c_double * size)()
            if size and nc.nc_get_var_double(file, identity, values) != 0:
                return None
            return list(values)
        finally:
            nc.nc_close(file)


def shim(folder, name, text):
    """A small library to be loaded before all others; None without a compiler."""
    compiler = shutil.which('cc') or shutil.which('gcc') or shutil.which('clang')
    if not compiler:
        return None
    source, library = folder / f'{name}.c', folder / f'{name}.so'
    source.write_text(text)
    made = subprocess.run([compiler, '-shared', '-fPIC', '-O1', '-fno-builtin', '-o', library, source, '-ldl'],
                          capture_output=True)
    return library if made.returncode == 0 else None
