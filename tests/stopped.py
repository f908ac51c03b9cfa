"""Runs that are stopped, for studies to be stopped by."""

from assembly.study.driver import Run


def stopped_at(done: int, reports: list[tuple[int, int]] | None = None, threads: int = 2) -> Run:
    """Return a run that is stopped once its progress is called with `done`; every call goes to `reports`."""
    heard = [] if reports is None else reports
    return Run(
        threads=threads,
        progress=lambda *words: heard.append(words),
        stop=lambda: bool(heard) and heard[-1][0] >= done,
    )
