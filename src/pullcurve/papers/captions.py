"""What is written into the plot of a lever, and where: events, names of the traces, the force limit."""

@dataclass(frozen=True, slots=True)
class Spot:
    """Pennants on a curve, px, and the way that they point, rad."""

    role: Role
    count: int
    x: float
    y: float
    turn: float


def _room(where: Frame) -> float:
    """How wide a label may be."""
    return max(LEAST_ROOM, min(LABEL_ROOM, LABEL_SHARE * where.main.width))


def _event_labels(trace: Trace, where: Frame, theme: Theme) -> Iterator[Label]:
    """A label for every event."""
    for mark in reached(trace):
        anchor = np.array(mark_px(where, mark))
        yield label(words_of(mark), role_colour(theme, trace.role), anchor, _room(where))


def trace_words(trace: Trace) -> str:
    """The name of a trace and what it does not reach."""
    if not np.any(np.isfinite(defined(trace.pull_newton))):
        return f"{trace.label}: no pull to show"
    missed = [mark.kind for mark in trace.events if mark not in reached(trace)]
    return f"{trace.label}, {' and '.join(missed)} not reached" if missed else trace.label


def _trace_label(panel: Panel, index: int, where: Frame, theme: Theme) -> Label:
    """A name that may sit anywhere along the pull branch, but not so near an event as to seem its own."""
    trace = panel.traces[index]
    marks = [mark_px(where, mark) for known in panel.traces for mark in reached(known)]
    points = stations(*branch_px(where, trace, trace.pull_newton))
    middle = [(where.main.left + where.main.right) / 2.0, (where.main.top + where.main.bottom) / 2.0]
    shares = np.linspace(0.15, 1.0, 12) * (len(points) - 1)
    anchors = points[shares.astype(np.intp)] if len(points) else np.array([middle, middle])
    clear = (
        [min(math.dist(spot, mark) for mark in marks) > NAME_AWAY for spot in anchors.tolist()]
        if marks
        else []
    )
    anchors = anchors[clear] if any(clear) else anchors
    anchors = np.concatenate([anchors, anchors[:1]])  # a name is never tied to one point
    colour = role_colour(theme, trace.role)
    return name_label(trace_words(trace), colour, anchors, _room(where), trace.role, ranks(panel)[index])


def place_words(
    panel: Panel, limit: float | None, where: Frame, theme: Theme, spots: list[Spot]
) -> tuple[Placed, ...]:
    """Events first, because they are tied to a point; names and limits then find what is left.

    The dashed release branch counts half: words on it hide less.
    """
    labels = [one for trace in panel.traces for one in _event_labels(trace, where, theme)]
    labels += _limit_label(panel, limit, where, theme)
    labels += [_trace_label(panel, index, where, theme) for index in range(len(panel.traces))]
    marks = [mark_px(where, mark) for trace in panel.traces for mark in reached(trace)]
    taken = [Box(x - MARKER, y - MARKER, x + MARKER, y + MARKER) for x, y in marks]
    taken += [Box(spot.x - 4.0, spot.y - 4.0, spot.x + 4.0, spot.y + 4.0) for spot in spots]
    right = last_end(panel, where)
    if limit is not None:
        taken.append(limit_band(where, at(where.up, limit), right))
    inner = [at(where.across, end) for end in ends_of(panel)[:-1]]
    taken += [Box(x - 2.0, where.main.top, min(x + WALL, right), where.main.bottom) for x in inner]
    curves = [
        stations(*branch_px(where, trace, values), step)
        for trace in panel.traces
        for values, step in ((trace.pull_newton, STEP), (trace.release_newton, 2.0 * STEP))
    ]
    dotted = [np.stack([np.full(9, x), np.linspace(y, where.main.bottom, 9)], axis=-1) for x, y in marks]
    area = Box(where.main.left + 6.0, where.main.top + 1.0, right - 6.0, where.main.bottom - 5.0)
    return place_labels(labels, area, taken, np.concatenate([*curves, *dotted]))


def _limit_label(panel: Panel, limit: float | None, where: Frame, theme: Theme) -> list[Label]:
    """The force limit in words, along its line, or at the top where the line lies above the plot."""
    asked = panel.force_limit_newton
    if asked is None or not abs(asked) <= LARGEST:
        return []
    x = where.main.left + np.linspace(0.06, 0.9, 8) * (last_end(panel, where) - where.main.left)
    y = where.main.top + 2.0 if limit is None else at(where.up, limit)
    words, colour = f"force limit {asked:.0f} N", theme.ink
    if exceeded(panel):
        words, colour = f"{words}, exceeded", theme.danger
    elif limit is None:
        words, colour = f"{words}: above this plot", theme.ink_2
    return [label(words, colour, np.stack([x, np.full(8, y)], axis=-1), LABEL_ROOM)]
