"""A window in use: mouse, keys, resizing and time, each handed on to `viewer.window.window`, until it is closed."""

from __future__ import annotations

import signal
from typing import TYPE_CHECKING, Any

from vtkmodules.vtkInteractionStyle import vtkInteractorStyleUser

from viewer.window.keys import with_shift

if TYPE_CHECKING:
    from viewer.window.window import Window

_TICK = 200  # milliseconds between looks at what is being worked out


def run(window: Window) -> None:
    """Let a window be used until it is closed.

    Raises
    ------
    KeyboardInterrupt, SystemExit
        If it is ended by Ctrl-C, or by SIGTERM.
    """
    plotter = window.plotter
    plotter.show(interactive=False, auto_close=False)
    assert plotter.iren is not None
    interactor: Any = plotter.iren.interactor
    plotter.iren.clear_key_event_callbacks()  # type: ignore[no-untyped-call]
    style: Any = vtkInteractorStyleUser()
    style.AddObserver("CharEvent", lambda *_: None)  # its own keys would close the window or change the drawing
    interactor.SetInteractorStyle(style)

    def at() -> tuple[int, int]:
        x, y = interactor.GetEventPosition()
        return x, window.size[1] - 1 - y

    def shifted() -> bool:
        return bool(interactor.GetShiftKey())

    interactor.AddObserver("KeyPressEvent", lambda *_: window.key(with_shift(interactor.GetKeySym(), held=shifted())))
    interactor.AddObserver("LeftButtonPressEvent", lambda *_: window.press(*at(), moves=shifted()))
    interactor.AddObserver("MiddleButtonPressEvent", lambda *_: window.press(*at(), moves=True))
    interactor.AddObserver("MouseMoveEvent", lambda *_: window.move(*at()))
    for button in ("Left", "Middle"):
        interactor.AddObserver(f"{button}ButtonReleaseEvent", lambda *_: window.release(*at()))
    interactor.AddObserver("MouseWheelForwardEvent", lambda *_: window.wheel(1.1, *at()))
    interactor.AddObserver("MouseWheelBackwardEvent", lambda *_: window.wheel(1 / 1.1, *at()))
    interactor.AddObserver("ConfigureEvent", lambda *_: window.show(window.state))
    interactor.AddObserver("TimerEvent", lambda *_: window.tick())
    interactor.CreateRepeatingTimer(_TICK)
    stopped = until_closed(interactor)
    plotter.close()
    if stopped:
        signal.raise_signal(stopped)


def until_closed(interactor: Any) -> int:  # noqa: ANN401 - an interactor
    """Return, when the window is closed, the signal that closed it, 0 for none: not to be raised inside its calls."""
    stopped = []

    def stop(number: int, _: object) -> None:
        stopped.append(number)
        interactor.TerminateApp()

    before = {each: signal.signal(each, stop) for each in (signal.SIGINT, signal.SIGTERM)}
    try:
        interactor.Start()
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)
    return stopped[0] if stopped else 0
