#!/usr/bin/env python3
"""Fault injection: what happens to results when disk, files, clock or process fail.

    python3 tests/faults/faults.py --tileflux build/tileflux [--quick] [--only NAME ...]

Prints a line for each fault with what happened; exit status 1 if any promise of docs/reliability.md is broken.
Standard library only. What needs root (a disk that is full, a file system that is read-only) is done in a mount
namespace of its own and told as skipped elsewhere.
"""

import argparse
import inspect
import json
import os
import pathlib
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time

import parts
from parts import CASES, damages, files_in, fresh

PLATE = CASES / 'plate/case.yaml'
TILE = CASES / 'lamplighter/case.yaml'
SWEEP = ['sweep', TILE, '--vary', 'sun.tilt=0..60 deg', '--vary', 'sun.distance=0.9..1.5AU', '--points', '20',
         '--output', 'usable_laser_power,temperature.bench.on,regime', '--threads', '2', '--no-why']
SEED = 20


class Skipped(Exception):
    pass


class Broken(Exception):
    pass


def require(holds, what):
    if not holds:
        raise Broken(str(what))


class Faults:
    """Each method is one fault: it returns what happened, or raises Broken."""

    def __init__(self, command, folder, quick):
        self.folder, self.quick = folder, quick
        self.run = parts.Program(command, folder)
        self.netcdf = parts.Netcdf()
        self.kept = {}

    def same_sweep(self, out, sound):
        """The same bytes; the summary says besides how many rows were solved this time, under a seal of its own."""
        a, b = files_in(out), files_in(sound)
        summaries = [json.loads((pathlib.Path(folder) / 'sweep.json').read_bytes()) for folder in (out, sound)]
        for summary in summaries:
            del summary['solved_now'], summary['seal']
        del a['sweep.json'], b['sweep.json']
        return a == b and summaries[0] == summaries[1]

    # ---- what the faults are compared with -----------------------------------------------------------------------

    def sound(self, name, *words):
        """The folder of an unbroken answer, made once."""
        if name not in self.kept:
            folder = self.folder / f'sound_{name}'
            result = self.run(*words, '--out', folder)
            require(result.status in (0, 1), f'the unbroken {name} ends with {result}: {result.error[:200]}')
            self.kept[name] = (folder, result.seconds)
        return self.kept[name]

    def sound_run(self):
        return self.sound('run', 'run', TILE, '--duration', '4 day', '--every', '60 s', '--no-why')

    def sound_sweep(self):
        return self.sound('sweep', *SWEEP)

    def names(self, word):
        """Run words of the unbroken answers."""
        return {'run': ['run', TILE, '--duration', '4 day', '--every', '60 s', '--no-why'], 'sweep': SWEEP}[word]

    # ---- disk ----------------------------------------------------------------------------------------------------

    def in_namespace(self, mount, out, words):
        """Runs with `mount` done in a mount namespace of its own, then copies what lies in `out`."""
        if os.geteuid() != 0:
            raise Skipped('needs root')
        copy = fresh(self.folder / 'copied')
        copy.mkdir()
        script = f'{mount} || exit 77; shift 0; "$@"; status=$?; cp -r {out}/. {copy} 2>/dev/null; exit $status'
        result = self.run(*words, wrapper=['unshare', '-m', 'sh', '-c', script, 'sh'])
        if result.status == 77:
            raise Skipped('cannot mount here')
        return result, copy

    def full_disk(self):
        """A file system of few kilobytes fills up during run and sweep."""
        told = []
        for word, sizes in (('run', (4, 64, 400, 1200)), ('sweep', (4, 16, 40, 64))):
            sound, _ = self.sound_run() if word == 'run' else self.sound_sweep()
            for size in sizes[:2] if self.quick else sizes:
                out = fresh(self.folder / 'small')
                out.mkdir()
                result, copy = self.in_namespace(f'mount -t tmpfs -o size={size}k none {out}', out,
                                                 [*self.names(word), '--out', out])
                if result.status in (0, 1):
                    require(files_in(copy) == files_in(sound), f'{word} in {size} kB: said to be done, files differ')
                else:
                    require(result.refused('output-unwritable'), f'{word} in {size} kB: {result}')
                    require('run.json' not in files_in(copy) and 'sweep.json' not in files_in(copy),
                            f'{word} in {size} kB: refused, yet there is an answer')
                    self.check_part(word, copy, sound)
                told.append(f'{word} in {size} kB: {result}')
        return '; '.join(told)

    def file_size_limit(self):
        """The system allows no file beyond a size; the sweep goes on where there is room again."""
        told = []
        for word in ('run', 'sweep'):
            sound, _ = self.sound_run() if word == 'run' else self.sound_sweep()
            for size in ((20000,) if self.quick else (1000, 20000, 60000, 300000)):
                out = fresh(self.folder / 'limited')
                result = self.run(*self.names(word), '--out', out, limits=[(resource.RLIMIT_FSIZE, size)])
                if result.status in (0, 1):
                    require(files_in(out) == files_in(sound), f'{word} of {size} bytes a file: done, files differ')
                    continue
                require(result.refused('output-unwritable'), f'{word} of {size} bytes a file: {result}')
                self.check_part(word, out, sound)
                again = self.run(*self.names(word), '--out', out)
                same = self.same_sweep(out, sound) if word == 'sweep' else files_in(out) == files_in(sound)
                require(again.status in (0, 1) and same, f'{word} again: {again}')
                told.append(f'{word} of {size} bytes a file: {result}')
        return '; '.join(told) + '; the same command with room ends with the bytes of an unbroken one'

    def output_that_is_full(self):
        """Standard output goes to a device that is full, or to a reader that is gone."""
        with open('/dev/full', 'wb') as full:
            result = self.run('balance', PLATE, stdout=full)
        require(result.refused('output-unwritable'), result)
        reader, writer = os.pipe()
        os.close(reader)
        gone = self.run('balance', PLATE, '--json', stdout=writer)
        os.close(writer)
        require(gone.status in (0, 1, 2, -signal.SIGPIPE), gone)
        return f'/dev/full: {result}; a reader that is gone: {gone}'

    def read_only_directory(self):
        """Results are to go where nothing may be written."""
        out = fresh(self.folder / 'closed')
        out.mkdir()
        (out / 'kept').write_text('kept')
        told = []
        for words in (['run', PLATE], SWEEP, ['balance', PLATE]):
            result, copy = self.in_namespace(f'mount --bind {out} {out} && mount -o remount,ro,bind {out}', out,
                                             [*words, '--out', out])
            require(result.refused('output-unwritable'), f'{words[0]}: {result}')
            require(sorted(files_in(copy)) == ['kept'], 'something was written')
            told.append(f'{words[0]}: {result} after {result.seconds:.2f} s')
        if shutil.which('setpriv'):
            out.chmod(0o555)
            nobody = ['setpriv', '--reuid=65534', '--regid=65534', '--clear-groups']
            result = self.run('run', PLATE, '--out', out / 'deeper', wrapper=nobody)
            require(result.refused('output-unwritable', 'file-unreadable') or result.status in (126, 127), result)
            told.append(f'as nobody: {result}')
        return '; '.join(told)

    # ---- killed --------------------------------------------------------------------------------------------------

    def check_part(self, word, out, sound):
        """What a process that did not come to its end left: complete lines of the unbroken files, readable netCDF."""
        for name in ('series.csv', 'events.csv', 'answers.csv'):
            if not (out / name).exists():
                continue
            whole = (out / name).read_bytes()
            lines = whole[:whole.rfind(b'\n') + 1]
            require((sound / name).read_bytes().startswith(lines), f'{name} holds lines of no unbroken {word}')
        if not self.netcdf.library:
            return
        if (out / 'series.nc').exists() and (out / 'series.nc').stat().st_size > 0:
            times = self.netcdf.numbers(out / 'series.nc', 'time')
            require(times is not None, 'series.nc cannot be read')
            require(times == self.netcdf.numbers(sound / 'series.nc', 'time')[:len(times)], 'series.nc: other times')
            bench = self.netcdf.numbers(out / 'series.nc', 'temperature')
            require(bench == self.netcdf.numbers(sound / 'series.nc', 'temperature')[:len(bench)],
                    'series.nc: other temperatures')
        if (out / 'answers.nc').exists() and (out / 'answers.csv').exists():
            done = (out / 'answers.csv').read_bytes().count(b'\n') - 2
            codes = self.netcdf.numbers(out / 'answers.nc', 'trouble')
            require(codes is not None, 'answers.nc cannot be read')
            require(all(code == 0 for code in codes[:max(0, done)]), 'a row of answers.csv is not in answers.nc')

    def killed_during_run(self):
        """SIGKILL at random moments of `run --out`, into a directory that holds an older run."""
        sound, seconds = self.sound_run()
        older = self.sound('older', 'run', TILE, '--duration', '1 day', '--no-why')[0]
        moments = random.Random(SEED)
        kills = least = 0
        count = 3 if self.quick else 50
        for i in range(count):
            out = fresh(self.folder / 'killed')
            shutil.copytree(older, out)
            kills += self.run.killed_after([*self.names('run'), '--out', out], moments.uniform(0.0, seconds))
            if 'run.json' in files_in(out):
                complete = any(files_in(out) == files_in(done) for done in (older, sound))
                shown = self.run('show', out)
                require(complete or shown.refused(), f'kill {i}: an older answer beside newer files is told: {shown}')
            else:
                self.check_part('run', out, sound)
                shown = self.run('show', out)
                require(shown.refused('file-unreadable'), f'kill {i}: {shown}')
            if i % 5 == 0:
                again = self.run(*self.names('run'), '--out', out)
                require(again.status in (0, 1) and files_in(out) == files_in(sound), f'kill {i}, again: {again}')
                least += 1
        return (f'{kills} of {count} killed in {seconds:.1f} s of work; every file readable, its rows those of the '
                f'unbroken run, never told as an answer; run again after {least} of them: the same bytes')

    def killed_during_sweep(self):
        """SIGKILL at random moments of `sweep --out`, each time taken up again, sometimes killed again."""
        sound, seconds = self.sound_sweep()
        moments = random.Random(SEED + 1)
        kills = shown_parts = 0
        count = 3 if self.quick else 50
        out = fresh(self.folder / 'killed')
        finished = 0
        for i in range(count):
            kills += self.run.killed_after([*SWEEP, '--out', out], moments.uniform(0.0, seconds))
            if (out / 'answers.csv').exists():
                self.check_part('sweep', out, sound)
                shown = self.run('show', out)
                require(shown.status == 0 or shown.refused(), f'kill {i}: {shown}')
                shown_parts += shown.status == 0
            if i % 3 == 2 or i == count - 1:
                again = self.run(*SWEEP, '--out', out)
                require(again.status == 0 and self.same_sweep(out, sound), f'kill {i}, again: {again}')
                finished += 1
                out = fresh(out)
        return (f'{kills} of {count} killed in {seconds:.1f} s of work; taken up {count} times; {finished} times brought to '
                f'its end: the same bytes as unbroken; told as unfinished meanwhile ({shown_parts} times)')

    def interrupted(self):
        """Ctrl-C during run and sweep: the answer so far, told as interrupted."""
        sound, seconds = self.sound_run()
        out = fresh(self.folder / 'stopped')
        process = self.run.start([*self.names('run'), '--out', out])
        time.sleep(0.3 * seconds)
        process.send_signal(signal.SIGINT)
        process.communicate()
        require(process.returncode in (0, 1, 3), process.returncode)
        self.check_part('run', out, sound)
        shown = self.run('show', out)
        require(shown.status == 0, shown)
        if process.returncode == 3:
            require(b'interrupted' in shown.output, 'the story does not say that the run was interrupted')
        return f'status {process.returncode}; shown with the warning that it was interrupted'

    # ---- damaged files -------------------------------------------------------------------------------------------

    def result_files(self):
        """Result files cut or changed in every range of bytes, given to `show` and `report`."""
        run = self.sound('short', 'run', TILE, '--duration', '1 day', '--no-why')[0]
        sweep, _ = self.sound_sweep()
        balance = self.sound('balance', 'balance', TILE)[0]
        count = 3 if self.quick else 40
        tried, codes = 0, {}
        for folder, name in ((run, 'run.json'), (run, 'series.nc'), (sweep, 'sweep.json'), (sweep, 'answers.nc'),
                             (balance, 'balance.json')):
            require(self.run('show', folder).status == 0, f'{name} as it was written is not told')  # negative control
            out = fresh(self.folder / 'damaged')
            shutil.copytree(folder, out)
            data = (folder / name).read_bytes()
            for what, new in damages(data, count, SEED):
                (out / name).write_bytes(new)
                shown = self.run('show', out)
                tried += 1
                if shown.status == 0 and name.endswith('.json') and parts.same_content(new, data):
                    continue
                require(shown.refused(), f'{name} {what}: {shown}')
                codes[shown.code] = codes.get(shown.code, 0) + 1
                if tried % 10 == 0:
                    page = self.run('report', out, '-o', out / 'page.html')
                    require(page.status in parts.FAILED and not (out / 'page.html').exists(), f'{name} {what}: {page}')
        return f'{tried} damaged files, all refused: ' + ', '.join(f'{n} {code}' for code, n in sorted(codes.items()))

    def resume_files(self):
        """The files of a sweep cut or changed in every range of bytes, then the same sweep again."""
        sound, _ = self.sound_sweep()
        count = 3 if self.quick else 40
        healed, refused = 0, {}
        for name in ('answers.csv', 'answers.nc', 'design.json'):
            data = (sound / name).read_bytes()
            for what, new in damages(data, count, SEED + 2):
                out = fresh(self.folder / 'damaged')
                shutil.copytree(sound, out)
                (out / name).write_bytes(new)
                again = self.run(*SWEEP, '--out', out)
                if again.status == 0:
                    require(self.same_sweep(out, sound), f'{name} {what}: other bytes at the end')
                    healed += 1
                else:
                    require(again.refused('result-damaged', 'option-wrong', 'output-unwritable'), f'{name} {what}: {again}')
                    refused[again.code] = refused.get(again.code, 0) + 1
                    require((out / name).read_bytes() == new, f'{name} {what}: refused, yet changed')
        return (f'{healed} times what was damaged was solved again and the files end with the same bytes; refused: ' +
                ', '.join(f'{n} {code}' for code, n in sorted(refused.items())))

    def changed_on_purpose(self):
        """The negative control of this script: a changed byte and an exit status are noticed."""
        sound, _ = self.sound_sweep()
        out = fresh(self.folder / 'control')
        shutil.copytree(sound, out)
        data = bytearray((out / 'answers.csv').read_bytes())
        data[-3] ^= 1
        (out / 'answers.csv').write_bytes(data)
        require(files_in(out) != files_in(sound), 'a changed byte is not seen')
        try:
            self.check_part('sweep', out, sound)
        except Broken:
            return 'a changed byte in answers.csv is seen by the digests and by the comparison of lines'
        raise Broken('lines of no sweep are not seen')

    # ---- laws and materials --------------------------------------------------------------------------------------

    def not_a_number(self):
        """Functions of the mathematical library begin to give not-a-number during run and balance."""
        library = parts.shim(self.folder, 'nan', NAN_SHIM)
        if not library:
            raise Skipped('no C compiler')
        words = ['run', TILE, '--duration', '6 h', '--json', '--no-why']
        reference = json.loads(self.run(*words).output)
        told = {}
        for once in (0, 1):
            for after in (1, 300, 20000) if self.quick else (1, 2, 5, 30, 300, 3000, 20000, 60000, 150000):
                out = fresh(self.folder / 'none')
                result = self.run(*words, '--out', out, env={'LD_PRELOAD': str(library), 'NAN_AFTER': str(after),
                                                             'NAN_ONCE': str(once)})
                # The second call computes the scale of a unit that the program itself asks for: nobody's input is wrong.
                own = after == 2 and result.status == 4 and result.code == 'internal'
                require(result.status in (0, 1) or result.refused() or own, f'after {after} calls: {result}')
                if result.status in (0, 1):
                    answer = parts.finite_json(result.output)
                    near = close(answer['energy_J'] if 'energy_J' in answer else answer['extremes'],
                                 reference['energy_J'] if 'energy_J' in reference else reference['extremes'])
                    require(near, f'after {after} calls (once: {once}): an answer, and another one')
                else:
                    require('run.json' not in files_in(out), f'after {after} calls: refused, yet there is an answer')
                told[str(result)] = told.get(str(result), 0) + 1
        return ', '.join(f'{n} times {what}' for what, n in sorted(told.items())) + '; every answer the right one'

    def extreme_cases(self):
        """Accepted cases at the ends of the ranges: an answer of finite numbers or a refusal."""
        plate = PLATE.read_text()
        changes = [('capacity: 2.4 kJ/K', 'capacity: 1e-6 J/K'), ('capacity: 2.4 kJ/K', 'capacity: 1e12 J/K'),
                   ('emittance: 85 %', 'emittance: 0.0001 %'), ('distance: 1 AU', 'distance: 0.01 AU'),
                   ('distance: 1 AU', 'distance: 600 AU'), ('temperature: 20 degC', 'temperature: 1 K'),
                   ('limits:', 'loads: [{on: plate, power: 1e12 W}]\nlimits:'),
                   ('limits:', 'loads: [{on: plate, power: -1e12 W}]\nlimits:'),
                   ('limits:', 'loads: [{on: plate, power: -600 W}]\nlimits:'),
                   ('output_every: 60 s', 'output_every: 1e-3 s'), ('duration: 6 h', 'duration: 1e9 s')]
        told = {}
        for old, new in changes:
            require(old in plate, f'the plate lacks {old}')
            case = self.folder / 'extreme.yaml'
            case.write_text(plate.replace(old, new))
            for verb in ('balance', 'run'):
                result = self.run(verb, case, '--json', '--no-why', timeout=60)
                require(result.status in (0, 1) or result.refused(), f'{new} {verb}: {result}')
                parts.finite_json(result.output)
                told[str(result)] = told.get(str(result), 0) + 1
        return ', '.join(f'{n} times {what}' for what, n in sorted(told.items()))

    def material_files(self):
        """A materials library that is missing, unreadable, cut, no text, too large, endless."""
        own = self.folder / 'materials'
        shutil.copytree(parts.PROJECT / 'materials', own, dirs_exist_ok=True)
        check = ['check', TILE, '--materials']
        require(self.run(*check, own).status == 0, 'the copy of the library is refused')  # negative control
        told = {}

        def refuse(what, *wrapper):
            result = self.run(*check, own, wrapper=wrapper)
            require(result.refused(), f'{what}: {result}')
            told.setdefault(result.code, []).append(what)

        surfaces = own / 'surfaces.yaml'
        data = surfaces.read_bytes()
        for what, new in (('no text', bytes(range(256)) * 8), ('empty', b''), ('too large', b'#' * (3 << 20)),
                          ('another', b'tileflux: 1\n')):
            surfaces.write_bytes(new)
            refuse(what)
        harmless = 0
        for what, new in damages(data, 5 if self.quick else 40, SEED + 3):
            surfaces.write_bytes(new)
            result = self.run(*check, own)
            # A changed letter in a source or a digit of a value cannot be known for wrong by the program.
            require(result.status == 0 or result.refused(), f'{what}: {result}')
            harmless += result.status == 0
        surfaces.unlink()
        surfaces.mkdir()
        refuse('a directory')
        surfaces.rmdir()
        surfaces.symlink_to('surfaces.yaml')
        refuse('a link to itself')
        surfaces.unlink()
        surfaces.symlink_to('/dev/zero')
        refuse('endless')
        surfaces.unlink()
        refuse('missing')
        surfaces.write_bytes(data)
        if os.geteuid() == 0 and shutil.which('setpriv'):
            surfaces.chmod(0)
            for folder in (self.folder, own):
                folder.chmod(0o755)
            refuse('without permission', 'setpriv', '--reuid=65534', '--regid=65534', '--clear-groups')
            surfaces.chmod(0o644)
        for away in (self.folder / 'nowhere', PLATE):
            result = self.run(*check, away)
            require(result.refused('file-unreadable'), f'{away.name}: {result}')
        return ('; '.join(f'{code}: {", ".join(whats)}' for code, whats in sorted(told.items())) +
                f'; damaged in many places: refused, or (in {harmless}, words or digits) still a sound library')

    # ---- names and links -----------------------------------------------------------------------------------------

    def links_out_of_the_directory(self):
        """In the directory of results stand links to files elsewhere."""
        told = []
        for words, names in ((['run', PLATE], ('series.csv', 'series.nc', 'events.csv', 'run.json')),
                             (SWEEP, ('answers.csv', 'answers.nc', 'design.json', 'sweep.json')),
                             (['balance', PLATE], ('balance.json',))):
            for name in names:
                for target in ('precious', 'absent'):
                    out = fresh(self.folder / 'linked')
                    out.mkdir()
                    outside = self.folder / 'precious'
                    outside.write_text('precious')
                    (self.folder / 'absent').unlink(missing_ok=True)
                    (out / name).symlink_to(self.folder / target)
                    result = self.run(*words, '--out', out)
                    require(outside.read_text() == 'precious', f'{name}: a file outside was changed')
                    require(not (self.folder / 'absent').exists(), f'{name}: a file outside was made')
                    require(result.refused('output-unwritable', 'option-wrong'), f'{name}: {result}')
                    told.append(str(result))
        # A file of that name that has another name elsewhere.
        out = fresh(self.folder / 'linked')
        out.mkdir()
        for name in ('series.csv', 'run.json'):
            os.link(outside, out / name)
        result = self.run('run', PLATE, '--out', out)
        require(outside.read_text() == 'precious', 'a file outside was changed through a second name')
        return f'{len(told)} links: {told[0]}, nothing outside is touched; second names of a file: {result}, the other stays'

    def hostile_names(self):
        """Names with line ends, terminal escapes, dashes, other encodings, of great length; ways upwards."""
        told = {}
        plate = PLATE.read_bytes()
        for name in (b'a\nb.yaml', b'\x1b[31mred\x1b]0;title\x07.yaml', b'-dash.yaml', b'--json', b'\xff\xfe\xe9.yaml',
                     b'x' * 250 + b'.yaml', 'r\u202egnp.yaml'.encode(), b' .yaml', b'$(touch pwned).yaml', b'%n%s.yaml',
                     b"a'b\"c.yaml"):
            path = os.fsencode(self.folder) + b'/' + name
            with open(path, 'wb') as file:
                file.write(plate)
            for words in (['balance', os.fsdecode(path)], ['balance', os.fsdecode(path), '--json'],
                          ['run', os.fsdecode(path), '--out', os.fsdecode(path) + '.out'[:max(0, 255 - len(name))]],
                          ['check', os.fsdecode(name)]):
                result = self.run(*words)
                require(result.status in (0, 1) or result.refused(), f'{name!r} {words[0]}: {result}')
                for stream in (result.output, result.error):
                    require(b'\x1b' not in stream and b'\x07' not in stream, f'{name!r}: an escape reaches the terminal')
                    require('\u202e'.encode() not in stream, f'{name!r}: text is turned around on the terminal')
                if '--json' in words and result.output:
                    json.loads(result.output.decode('utf-8'))
                told[str(result)] = told.get(str(result), 0) + 1
        require(not (self.folder / 'pwned').exists(), 'a name was run by a shell')
        for table in ('../secret.csv', '/etc/passwd', '..', 'a/../../secret.csv', 'link.csv'):
            case = self.folder / 'tables/case.yaml'
            case.parent.mkdir(exist_ok=True)
            (self.folder / 'secret.csv').write_text('time,tilt\ns,deg\n0,0\n1,1\n')
            if not (case.parent / 'link.csv').is_symlink():
                (case.parent / 'link.csv').symlink_to('../secret.csv')
            case.write_text(PLATE.read_text().replace('{distance: 1 AU}', f'{{distance: 1 AU, course: {{file: "{table}"}}}}'))
            result = self.run('check', case)
            require(result.refused('file-elsewhere', 'file-unreadable'), f'table {table}: {result}')
            told[str(result)] = told.get(str(result), 0) + 1
        for path in ('x' * 300, self.folder / ('y/' * 3000)):
            result = self.run('check', path)
            require(result.refused('file-unreadable', 'option-wrong'), f'long: {result}')
        return ', '.join(f'{n} times {what}' for what, n in sorted(told.items()))

    # ---- size ----------------------------------------------------------------------------------------------------

    def huge_case(self):
        """Case files of 100 MB, and devices that never end."""
        told = []
        size = 100 << 20
        path = self.folder / 'huge.yaml'
        for what, text in (('remarks', b'# ' + b'x' * 77 + b'\n'), ('one line', b'a'), ('open brackets', b'['),
                           ('rows', b'- {name: a, at: 1 h}\n')):
            with open(path, 'wb') as file:
                file.write(b'tileflux: 1\n')
                for _ in range(100):  # in pieces: a child's peak counts what its parent had
                    file.write(text * (size // len(text) // 100))
            result = self.run.measured('balance', path)
            require(result.refused('text-too-large'), f'{what}: {result}')
            require(result.peak_MiB < 100 and result.seconds < 5, f'{what}: {result.peak_MiB:.0f} MiB')
            told.append(f'{what}: {result}, {result.peak_MiB:.0f} MiB, {result.seconds:.2f} s')
        for words in (['show', path], ['balance', '/dev/zero'], ['show', '/dev/zero']):
            result = self.run.measured(*words)
            require(result.refused() and result.peak_MiB < 250, f'{words[1]}: {result}, {result.peak_MiB:.0f} MiB')
            told.append(f'{words[0]} {pathlib.Path(words[1]).name}: {result}, {result.peak_MiB:.0f} MiB')
        path.unlink()
        return '; '.join(told)

    def million_points(self):
        """A sweep of a million rows: memory, stopped, killed, taken up."""
        out = fresh(self.folder / 'million')
        words = ['sweep', PLATE, '--vary', 'sun.distance=0.5..5AU', '--vary', 'surfaces.back.area=0.5..2 m2', '--points',
                 '1000', '--output', 'temperature.plate.off,regime', '--no-why', '--out', out]
        wait = 1.5 if self.quick else 10
        first = self.run.measured(*words, timeout=wait)
        require(first.status in (0, 3), first)
        rows = [(out / 'answers.csv').read_bytes().count(b'\n') - 2]
        self.run.killed_after(words, wait)
        rows.append((out / 'answers.csv').read_bytes().count(b'\n') - 2)
        last = self.run.measured(*words, timeout=wait)
        rows.append((out / 'answers.csv').read_bytes().count(b'\n') - 2)
        require(last.status in (0, 3) and rows[0] <= rows[1] <= rows[2] and rows[0] < rows[2], f'{last}, rows {rows}')
        peak = max(first.peak_MiB, last.peak_MiB)
        require(peak < 400, f'{peak:.0f} MiB')
        codes = self.netcdf.numbers(out / 'answers.nc', 'trouble') if self.netcdf.library else []
        require(sum(code >= 0 for code in codes) >= rows[2] or not codes, 'rows of answers.csv are not in answers.nc')
        too_many = self.run(*words[:-2], '--vary', 'sun.tilt=0..60 deg', '--out', out)
        require(too_many.refused(), f'a thousand million rows: {too_many}')
        return (f'rows there after an interrupt, a kill, an interrupt: {rows}; peak {peak:.0f} MiB; a thousand million rows: '
                f'{too_many}')

    # ---- clock ---------------------------------------------------------------------------------------------------

    def clock_going_back(self):
        """The clock of the machine jumps back by an hour each time it is read."""
        library = parts.shim(self.folder, 'clock', CLOCK_SHIM)
        if not library:
            raise Skipped('no C compiler')
        env = {'LD_PRELOAD': str(library)}
        control = subprocess.run([sys.executable, '-c', 'import time; a = time.time(); print(time.time() < a)'],
                                 env={**os.environ, **env}, capture_output=True, text=True)
        require(control.stdout.strip() == 'True', 'the clock does not go back in the control')
        told = []
        for word in ('run', 'sweep'):
            sound, _ = self.sound_run() if word == 'run' else self.sound_sweep()
            out = fresh(self.folder / 'back')
            result = self.run(*self.names(word), '--out', out, env=env)
            require(result.status in (0, 1) and files_in(out) == files_in(sound), f'{word}: {result}')
            told.append(f'{word}: {result}, the same bytes')
        return '; '.join(told)


def close(a, b, relative=1e-6):
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(close(a[k], b[k], relative) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(close(x, y, relative) for x, y in zip(a, b))
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) <= relative * max(1.0, abs(a), abs(b))
    return a == b


CLOCK_SHIM = r'''
#define _GNU_SOURCE
#include <dlfcn.h>
#include <sys/time.h>
#include <time.h>
static long back = 0;
int clock_gettime(clockid_t id, struct timespec* at) {
  static int (*real)(clockid_t, struct timespec*) = 0;
  if (!real) real = (int (*)(clockid_t, struct timespec*))dlsym(RTLD_NEXT, "clock_gettime");
  int status = real(id, at);
  if (id == CLOCK_REALTIME || id == CLOCK_REALTIME_COARSE) at->tv_sec -= 3600 * ++back;
  return status;
}
time_t time(time_t* out) {
  struct timespec at;
  clock_gettime(CLOCK_REALTIME, &at);
  if (out) *out = at.tv_sec;
  return at.tv_sec;
}
int gettimeofday(struct timeval* out, void* zone) {
  struct timespec at;
  (void)zone;
  clock_gettime(CLOCK_REALTIME, &at);
  out->tv_sec = at.tv_sec;
  out->tv_usec = at.tv_nsec / 1000;
  return 0;
}
'''

NAN_SHIM = r'''
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdlib.h>
#include <string.h>
static long calls = 0;
static int is_due(void* caller) {
  static long after = -1, once = 0;
  if (after < 0) {
    const char* text = getenv("NAN_AFTER");
    after = text ? atol(text) : 0;
    text = getenv("NAN_ONCE");
    once = text ? atol(text) : 0;
  }
  Dl_info place;  /* what other libraries calculate is not what is injected */
  if (!dladdr(caller, &place) || !strstr(place.dli_fname, "tileflux")) return 0;
  ++calls;
  return after > 0 && (once ? calls == after : calls >= after);
}
#define ONE(name)                                                         \
  double name(double x) {                                                 \
    static double (*real)(double) = 0;                                    \
    if (!real) real = (double (*)(double))dlsym(RTLD_NEXT, #name);        \
    return is_due(__builtin_return_address(0)) ? __builtin_nan("") : real(x);                        \
  }
ONE(exp) ONE(log) ONE(cos) ONE(sin) ONE(tanh) ONE(cosh)
double pow(double x, double y) {
  static double (*real)(double, double) = 0;
  if (!real) real = (double (*)(double, double))dlsym(RTLD_NEXT, "pow");
  return is_due(__builtin_return_address(0)) ? __builtin_nan("") : real(x, y);
}
'''


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument('--tileflux', default='build/tileflux', help='the command under test')
    parser.add_argument('--quick', action='store_true', help='fewer of each: under a quarter of a minute')
    parser.add_argument('--only', nargs='*', help='these faults alone')
    asked = parser.parse_args()
    broken = 0
    with tempfile.TemporaryDirectory(prefix='tileflux-faults-') as folder:
        os.chmod(folder, 0o755)
        faults = Faults(asked.tileflux, pathlib.Path(folder), asked.quick)
        helpers = {'same_sweep', 'sound', 'sound_run', 'sound_sweep', 'names', 'in_namespace', 'check_part'}
        for name, method in inspect.getmembers(faults, inspect.ismethod):
            if name.startswith('_') or name in helpers or (asked.only and name not in asked.only):
                continue
            begin = time.monotonic()
            try:
                verdict, what = 'kept', method()
            except Skipped as skipped:
                verdict, what = 'skipped', skipped
            except Broken as trouble:
                verdict, what = 'BROKEN', trouble
                broken += 1
            print(f'{verdict:8}{name.replace("_", " ")} ({time.monotonic() - begin:.1f} s): {what}', flush=True)
    print('no promise is broken' if broken == 0 else f'{broken} promises are broken')
    return 1 if broken else 0


if __name__ == '__main__':
    sys.exit(main())
