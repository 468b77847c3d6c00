"""Children that die at a step of their writing, as by kill -9 or a flat battery."""

import contextlib
import os

#: By which a write touches names or the disk.
STEPS = ("replace", "rename", "unlink", "fsync", "link", "mkdir", "rmdir")
DIED = 99


def dying_at(count, work):
    """Run in a child that dies before its step of that number; whether it came to that."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == DIED
    steps = [0]

    def counted(step):
        def call(*arguments, **named):
            steps[0] += 1
            if steps[0] == count:
                os._exit(DIED)
            return step(*arguments, **named)

        return call

    for name in STEPS:
        setattr(os, name, counted(getattr(os, name)))
    code = 1
    with contextlib.suppress(BaseException):
        work()
        code = 0
    os._exit(code)


def every_death(work, prepare):
    """The number of each step at which it died, when what `prepare` makes is there anew."""
    for count in range(1, 200):
        prepare()
        if not dying_at(count, work):
            assert count > 10  # it did die at many
            return
        yield count
    raise AssertionError("it never came to its end")
