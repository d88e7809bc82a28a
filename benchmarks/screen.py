"""The bench in a browser: frames while a lever is dragged, redraw after a step, many clients at once, memory.

Run with ``python3 -m benchmarks.screen``; ``--minutes 10`` watches the server's memory for so long. Everything stays on
loopback. Frames and redraw need Debian's Chromium and are left out where it is missing.
"""

import argparse
import json
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np

from benchmarks.timing import line
from pullcurve.verbs.jobs import demo_job
from pullcurve.web.jobs import plain_job

CLIENTS = 20
PRESSING, RUSHING = 0.5, 0.1
"""Seconds from one step of a rack to the next, for a hand that looks at each and for one that runs along."""

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

DRAGGING = """async () => {
  const times = [];
  let last = 0;
  const done = new Promise((resolve) => {
    const frame = (now) => {
      if (last) times.push(now - last);
      last = now;
      if (times.length < 240) requestAnimationFrame(frame);
      else resolve();
    };
    requestAnimationFrame(frame);
  });
  const grab = document.querySelector("#mechanism-view .grab");
  const box = grab.getBoundingClientRect();
  const at = (type, share) => grab.dispatchEvent(new PointerEvent(type, { bubbles: true, pointerId: 1, isPrimary: true,
    button: 0, buttons: 1, clientX: box.x + box.width / 2, clientY: box.y + box.height / 2 + 60 * share }));
  at("pointerdown", 0);
  let step = 0;
  const hand = setInterval(() => at("pointermove", Math.abs(Math.sin(++step / 20))), 8);
  await done;
  clearInterval(hand);
  at("pointerup", 0);
  return times;
}"""
"""Times between frames [ms] while the lever follows a pointer that moves 125 times a second."""

STEPPING = """async () => {
  const times = [];
  for (let turn = 0; turn < 40; turn++) {
    const open = [...document.querySelectorAll("#cams button:not([disabled])")];
    const button = open.filter((one) => one.textContent.trim().length < 3)[turn % 2];
    const start = performance.now();
    const drawn = new Promise((resolve) => {
      const seen = new MutationObserver(() => {
        seen.disconnect();
        requestAnimationFrame(() => resolve(performance.now()));
      });
      seen.observe(document.querySelector("#plot-view"), { childList: true, subtree: true });
    });
    button.click();
    const end = await Promise.race([drawn, new Promise((resolve) => setTimeout(() => resolve(null), 3000))]);
    if (end !== null) times.push(end - start);
    await new Promise((resolve) => setTimeout(resolve, 150));
  }
  return times;
}"""
"""Times from a press on a stepper to the frame that shows the new plot [ms]."""


@dataclass(slots=True)
class Load:
    """Seconds of every answer, and of those to what a client had not asked before; bytes that came, wrong answers."""

    seconds: list[float] = field(default_factory=list)
    first: list[float] = field(default_factory=list)
    size: int = 0
    wrong: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)


@contextmanager
def serving() -> Iterator[tuple[str, int]]:
    """A server of its own, as it is started by hand: its address and its process."""
    with tempfile.TemporaryDirectory() as folder:
        command = [
            sys.executable,
            "-c",
            "from pullcurve.cli import main; main()",
            "serve",
            "--no-open",
            "--port",
            "0",
        ]
        command += ["--book", str(Path(folder, "book.sqlite"))]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        try:
            assert process.stdout is not None
            for said in process.stdout:
                found = re.search(r"http://127\.0\.0\.1:\d+", said)
                if found:
                    threading.Thread(target=process.stdout.read, daemon=True).start()
                    yield found[0], process.pid
                    break
        finally:
            process.terminate()
            process.wait(20)


def megabytes(process: int) -> float:
    """Memory that a process holds."""
    told = subprocess.run(
        ["ps", "-o", "rss=", "-p", str(process)], capture_output=True, text=True, check=True
    )
    return int(told.stdout) / 1024.0


def questions(client: int) -> list[bytes]:
    """What one page asks while a stepper is dragged along the rack: each brake cam of the reach that is fitted.

    Every client has a rider of its own, so that none is answered by what another one asked.
    """
    job = demo_job()
    assert job.rack is not None
    reach = job.fitted.brake.reach_deg if job.fitted.brake is not None else 0.0
    cams = [cam.id for cam in job.rack.brake_cams if cam.reach_deg == reach]
    data = plain_job(job)
    data["rider"]["mass_kg"] = 60.0 + 0.1 * client
    return [json.dumps({"job": data, "cams": [cam], "lever": 0, "fitted": False}).encode() for cam in cams]


def client(address: str, until: float, number: int, load: Load, pause: float) -> None:
    """One hand that drags on: the next step when the last is drawn."""
    place, asked = urlsplit(address), questions(number)
    connection = HTTPConnection(place.hostname or "", place.port, timeout=30)
    at = 0
    while time.monotonic() < until:
        start = time.monotonic()
        connection.request("POST", "/api/bench", asked[at % len(asked)], {"Content-Type": "application/json"})
        answer = connection.getresponse()
        size = len(answer.read())
        seconds = time.monotonic() - start
        with load.lock:
            load.seconds.append(seconds)
            if at < len(asked):
                load.first.append(seconds)
            load.size += size
            load.wrong += answer.status != 200
        at += 1
        time.sleep(pause)


def loaded(address: str, seconds: float, pause: float, riders: int) -> Load:
    """Many clients for some time, each with a rider of its own from a number on."""
    load, until = Load(), time.monotonic() + seconds
    hands = [
        threading.Thread(target=client, args=(address, until, riders + number, load, pause))
        for number in range(CLIENTS)
    ]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    return load


def looked_at(address: str, where: str) -> None:
    """Frames and redraw of one page, where there is a browser."""
    path = shutil.which("chromium")
    if path is None:
        line(f"frames and redraw, {where}", "left out", "needs Debian package chromium")
        return
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=list(FLAGS))
        page = browser.new_context(base_url=address, viewport={"width": 1024, "height": 800}).new_page()
        page.add_init_script("localStorage.setItem('pullcurve.toured', 'true')")
        page.goto("/")
        page.wait_for_selector("#bench[aria-busy=false]")
        page.wait_for_timeout(500)
        frames = np.array(page.evaluate(DRAGGING))
        steps = np.array(page.evaluate(STEPPING))
        browser.close()
    line(f"frames a second while dragging, {where}", f"{1000.0 / np.mean(frames):.0f}", "target 60")
    line("  longest of 95 % of frames", f"{np.percentile(frames, 95):.1f} ms", "17 ms is one frame")
    line(f"step to redraw, {where}, median", f"{np.median(steps):.0f} ms", "target 50 ms or less")
    line("  95th percentile", f"{np.percentile(steps, 95):.0f} ms", f"{steps.size} steps")


def told(load: Load, seconds: float, what: str, target: str) -> None:
    """Lines of one load."""
    found = np.array(load.seconds) * 1000.0
    rate = f"{found.size / seconds:.0f} a second, {load.size / found.size / 1000.0:.0f} kB each, {load.wrong} wrong"
    line(f"{CLIENTS} clients, {what}: median", f"{np.median(found):.0f} ms", rate)
    line("  95th percentile", f"{np.percentile(found, 95):.0f} ms", target)
    line("  of what a client had not asked before", f"{np.percentile(load.first, 95) * 1000.0:.0f} ms", "")


def main() -> None:
    """Measure and report."""
    parser = argparse.ArgumentParser(description="The bench in a browser.")
    parser.add_argument(
        "--minutes", type=float, default=0.5, help="how long the memory is watched under load"
    )
    seconds = 60.0 * parser.parse_args().minutes
    with serving() as (address, process):
        looked_at(address, "alone")
        for riders, pause in enumerate((PRESSING, RUSHING, 0.0)):
            load = loaded(address, 10.0, pause, riders * CLIENTS)
            told(load, 10.0, f"{pause:g} s between steps", "target 150 ms or less")
        memory = [megabytes(process)]
        parts = 10
        for part in range(parts):
            loaded(address, seconds / parts, PRESSING, (3 + part) * CLIENTS)
            memory.append(megabytes(process))
        line(
            f"memory of the server over {seconds / 60.0:g} minutes of that",
            f"{memory[0]:.0f} to {memory[-1]:.0f} MB",
            "target flat: " + " ".join(f"{one:.0f}" for one in memory),
        )


if __name__ == "__main__":
    main()
