"""Every act of the bench with its key, as data: the shortcuts, the buttons and the help page come from here."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Action:
    """One act: `keys` are shortcuts, the first is the one shown; `button` is its short name in the act bar."""

    id: str
    title: str
    keys: tuple[str, ...]
    group: str
    button: str = ""


ACTIONS: tuple[Action, ...] = (
    Action("start", "Start the next coat", ("S",), "Spraying", "Start coat"),
    Action("done", "Coat done", ("D",), "Spraying", "Coat done"),
    Action("mix", "Mix: go to the amount, or log the stirring", ("M",), "Mixing", "Mix"),
    Action("empty", "Empty the cup; type first how much was left in it", ("E",), "Mixing"),
    Action("weigh", "By volume, or on the scale", ("W",), "Mixing"),
    Action("can", "Which can the next part comes from", ("K",), "Mixing"),
    Action("sums", "Sums: how much, pot life, flow, emissions, cost", ("C",), "Mixing", "Sums"),
    Action("shop", "What you own: tools, cups, cans", ("O",), "Mixing", "Shop"),
    Action("prep", "Log a prep step", ("P",), "Preparing", "Prep"),
    Action("identify", "Find out what the piece is made of", ("Q",), "Preparing"),
    Action("prep plan", "The prep plan of the piece", ("Shift+P",), "Preparing"),
    Action("reading", "Log a reading of the air", ("R",), "Preparing", "Reading"),
    Action("air", "The air over time, the night to come, the logger", ("G",), "Preparing"),
    Action("heat", "Heat on the piece: on, or off", ("B",), "Spraying"),
    Action("film", "Log a film that was measured", ("I",), "Spraying"),
    Action("trial", "Log a test strip", ("T",), "Preparing", "Trial"),
    Action("trials", "A trial of several strips: set up, run, grade, compare", ("Shift+T",), "Preparing"),
    Action("undo", "Take back the last act", ("U", "Ctrl+Z"), "Record", "Undo"),
    Action("redo", "Bring back what was undone", ("Ctrl+Shift+Z", "Ctrl+Y"), "Record"),
    Action("earlier", "It was a minute earlier: move the last act back", (",",), "Record"),
    Action("copy", "Copy the state of the job as text", ("Ctrl+C",), "Record"),
    Action("papers", "On paper: job sheet, care sheet, tables, calendar", ("Shift+J",), "Record"),
    Action("photos", "The photos of the piece, step by step", ("Shift+V",), "Record"),
    Action("learned", "What the record says: your own times, misses, waste", ("Shift+L",), "Record"),
    Action("calendar", "Put the long waits into a calendar file", ("Y",), "Record"),
    Action("day", "The day: what is done when, and what falls into the night", ("Shift+D",), "Looking"),
    Action("more", "Where to? The pages of before and after", ("F3",), "Looking", "More"),
    Action("far", "Far view, and back", ("F",), "Looking", "Far view"),
    Action("heard", "Heard the alarm", ("H",), "Looking"),
    Action("silence", "Silence the sounds for a time", ("X",), "Looking", "Silence"),
    Action("theme", "Light or dark", ("Ctrl+T",), "Looking"),
    Action("help", "All keys", ("?", "F1"), "Looking", "Keys"),
    Action("job", "Open, begin or leave a job", ("J", "Ctrl+O"), "Job"),
    Action("new", "Begin a new job", ("N", "Ctrl+N"), "Job"),
    Action("find", "Find it again: earlier jobs, customers, cans", ("Shift+F", "Ctrl+F"), "Job"),
    Action("again", "Repeat this job, or touch it up", ("Shift+R",), "Job"),
    Action("piece", "Add a piece", ("A",), "Job"),
    Action("layer", "Add a layer to the piece", ("L",), "Job"),
    Action("build", "Build the stack of the piece", ("Z",), "Job"),
    Action("library", "Your product cards", ("V",), "Job"),
    Action("rules", "All rules, and your own", ("F2",), "Looking"),
    Action("up", "The layer above", ("Up",), "Looking"),
    Action("down", "The layer below", ("Down",), "Looking"),
    Action("quit", "Leave the bench", ("Ctrl+Q",), "Job"),
)


def action(action_id: str) -> Action:
    """Find an action by its id."""
    return next(a for a in ACTIONS if a.id == action_id)
