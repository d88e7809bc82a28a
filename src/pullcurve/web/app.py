"""The app: routes, what guards them, and where the files of the pages lie."""

from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path

from anyio.to_thread import current_default_thread_limiter
from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from pullcurve import __version__
from pullcurve.web import (
    asking,
    booking,
    cams,
    entering,
    faults,
    helping,
    jobs,
    measuring,
    pages,
    posing,
    stripping,
)
from pullcurve.web.gate import Gate
from pullcurve.web.running import Runner
from pullcurve.web.settings import Settings

THREADS = 4
"""Questions that are answered at once; the others wait their turn."""

STATIC = Path(str(files("pullcurve.web").joinpath("static")))


@asynccontextmanager
async def lifespan(app: FastAPI) -> AsyncGenerator[None, None]:
    """While the server runs; long work ends with it."""
    app.state.runner = Runner()
    # More threads at once than there are cores to compute on only wait for each other.
    current_default_thread_limiter().total_tokens = THREADS
    yield
    app.state.runner.close()


def create_app(settings: Settings | None = None) -> FastAPI:
    """Everything that the server offers, for the given settings."""
    app = FastAPI(
        title="pullcurve",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=lifespan,
    )
    app.state.settings = known = settings or Settings()
    app.add_middleware(Gate, settings=known)
    app.state.runner = Runner()
    faults.answer_errors(app)
    app.add_exception_handler(HTTPException, helping.absent)
    for router in (
        jobs.router,
        asking.router,
        cams.router,
        measuring.router,
        entering.router,
        posing.router,
        stripping.router,
        stripping.sheet_router,
        stripping.page_router,
        booking.router,
        pages.router,
        helping.router,
    ):
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    return app
