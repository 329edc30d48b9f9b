"""Whether what an event speaks of was in the job by then: pieces, layers, cards, cups, lots, trials."""

from collections.abc import Container, Iterator

from benchtool.job import events as ev
from benchtool.job.record import Job


def reference_faults(job: Job) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each reference to something that the job does not hold by then."""
    cards: set[str] = set()
    pieces: set[str] = set()
    layers: set[str] = set()
    mixes: dict[str, set[str]] = {}
    lots: set[str] = set()
    trials: dict[str, set[str]] = {}
    systems: dict[str, set[str]] = {}
    ids: set[str] = set()
    for i, e in enumerate(job.events):
        wanted: list[tuple[str, str, Container[str], str]] = []
        match e:
            case ev.CardCopied(card=card):
                cards.add(card.id)
            case ev.PieceAdded(piece=piece):
                pieces.add(piece.id)
            case ev.LayerAdded(piece=pid, layer=layer):
                wanted = [("piece", pid, pieces, ".piece"), ("card", layer.card, cards, ".layer.card")]
                layers.add(layer.id)
            case ev.PieceChanged(piece=piece):
                wanted = [("piece", piece.id, pieces, ".piece.id")]
            case ev.LayerChanged(layer=layer):
                wanted = [
                    ("layer", layer.id, layers, ".layer.id"),
                    ("card", layer.card, cards, ".layer.card"),
                ]
            case (
                ev.PrepDone(piece=pid)
                | ev.TrialRecorded(piece=pid)
                | ev.HeatStarted(piece=pid)
                | ev.HeatEnded(piece=pid)
            ):
                wanted = [("piece", pid, pieces, ".piece")]
            case ev.PhotoAdded():
                wanted = [("piece", e.piece, pieces, ".piece")]
                if e.layer is not None:
                    wanted.append(("layer", e.layer, layers, ".layer"))
                if e.of is not None:
                    wanted.append(("event", e.of, ids, ".of"))
            case ev.TrialPlanned(trial=trial) | ev.TrialReplanned(trial=trial):
                strips = [s.piece for s in trial.strips]
                wanted = [("piece", x, pieces, f".trial.strips[{k}].piece") for k, x in enumerate(strips)]
                if trial.piece is not None:
                    wanted.append(("piece", trial.piece, pieces, ".trial.piece"))
                if isinstance(e, ev.TrialReplanned):
                    wanted.append(("trial", trial.id, trials, ".trial.id"))
                trials[trial.id] = trials.get(trial.id, set()) | set(strips)
                systems[trial.id] = systems.get(trial.id, set()) | {s.id for s in trial.systems}
            case ev.TrialEnded(trial=tid):
                wanted = [("trial", tid, trials, ".trial")]
            case ev.TapePressed() | ev.Graded():
                wanted = [("trial", e.trial, trials, ".trial"), ("strip", e.strip, trials.get(e.trial, ()), ".strip")]
                if isinstance(e, ev.Graded):
                    of = (("layer", e.layer), ("over", e.over))
                    wanted += [("layer", x, layers, f".{field}") for field, x in of if x is not None]
            case ev.AgeingBegun() | ev.AgeingOver():
                wanted = [("trial", e.trial, trials, ".trial")]
                of_it = trials.get(e.trial, ())
                wanted += [("strip", x, of_it, f".strips[{k}]") for k, x in enumerate(e.strips)]
            case ev.SystemChosen():
                wanted = [
                    ("trial", e.trial, trials, ".trial"),
                    ("system", e.system, systems.get(e.trial, ()), ".system"),
                    ("piece", e.piece, pieces, ".piece"),
                ]
            case ev.Mixed():
                wanted = [("layer", e.layer, layers, ".layer"), ("card", e.card, cards, ".card")]
                mixes[e.mix] = {p.name for p in e.parts}
            case ev.LotTaken(lot=lot):
                wanted = [("event", x, ids, f".pours[{k}]") for k, x in enumerate(e.pours)]
                lots.add(lot.id)
            case ev.Poured():
                wanted = [("mix", e.mix, mixes, ".mix")]
                if e.mix in mixes:
                    wanted.append(("part", e.part, mixes[e.mix], ".part"))
                if e.lot is not None:
                    wanted.append(("lot", e.lot, lots, ".lot"))
            case ev.MixStirred() | ev.CupEmptied():
                wanted = [("mix", e.mix, mixes, ".mix")]
            case ev.CupShared():
                wanted = [("mix", e.mix, mixes, ".mix"), ("layer", e.layer, layers, ".layer")]
            case ev.CoatStarted() | ev.CoatDone() | ev.LayerRemoved() | ev.FilmMeasured():
                wanted = [("layer", e.layer, layers, ".layer")]
                if isinstance(e, ev.CoatStarted) and e.mix is not None:
                    wanted.append(("mix", e.mix, mixes, ".mix"))
            case ev.Corrected():
                wanted = [("event", e.event, ids, ".event")]
            case ev.Withdrawn():
                wanted = [("event", x, ids, f".events[{k}]") for k, x in enumerate(e.events)]
            case _:
                pass
        for kind, key, known, where in wanted:
            if key not in known:
                yield f"$.events[{i}]{where}", f"there is no {kind} “{key}” before this event"
        ids.add(e.id)
