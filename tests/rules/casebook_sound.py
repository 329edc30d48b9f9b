"""Sound work of every day: nothing of it may raise a stop or a caution, at any stage."""

from typing import NamedTuple

from rules.casebook import Row

ALU = "degrease abrade@240 degrease tack"
STEEL = "wash degrease abrade@120 degrease tack"
ABS = "release wash abrade@600 wash tack"
OLD = "wash degrease abrade@400 degrease tack"
WOOD = "abrade@180 tack"
BUMPER = "release degrease abrade@600 wash tack"


class System(NamedTuple):
    """A piece, its stack and its prep, and where it is written that this is sound."""

    what: str
    piece: str
    stack: str
    prep: str
    source: str


REFINISH = "texts on car refinishing: clean, abrade, clean; primer by material; base, then clear inside its window"
PLASTICS = "refinish procedures for plastic parts: release wash, abrade, clean; promoter on PP and TPO only"
PRACTICE = "common practice, no source"

SYSTEMS = (
    System("base and clear on an ABS panel", "abs marked", "base:2 clear:2", ABS, PLASTICS),
    System("two-part over one-part primer on ABS", "abs", "primer1k:2 base:2 clear:2", ABS, PRACTICE),
    System("an ABS cover with two-part primer", "abs marked", "primer:2 metallic:2 clear:2", ABS, PLASTICS),
    System("a printed cover of ABS in waterborne", "abs", "waterprimer water:2 waterclear:2", ABS, PRACTICE),
    System("wash primer under two-part", "aluminium", "etch primer:2 base:2 clear:2", ALU, "MIL-C-8514, DOD-P-15328"),
    System("epoxy on a tank of aluminium", "aluminium", "epoxy metallic:2 clear:2", ALU, REFINISH),
    System("a cast cover", "aluminium-cast", "epoxy primer:2 base:2 clear:2", ALU, REFINISH),
    System("an anodised bezel", "aluminium-anodised", "epoxy base:2 clear:2", OLD, PRACTICE),
    System("a fender filled and painted", "steel", "epoxy filler:2 primer:2 base:2 clear:2", STEEL, REFINISH),
    System("steel in enamel", "steel", "enamel:2", STEEL, PRACTICE),
    System("steel in epoxy and enamel", "steel", "epoxy enamel:2", STEEL, PRACTICE),
    System(
        "zinc-rich, epoxy, urethane",
        "steel",
        "zinc epoxy clear:2",
        STEEL,
        "ISO 12944-5, systems over zinc (from memory)",
    ),
    System("galvanised with epoxy", "steel-galvanised", "epoxy enamel:2", ALU, "ASTM D6386, ASTM D7396"),
    System("galvanised with wash primer", "steel-galvanised", "etch primer base:2 clear:2", ALU, "ASTM D6386"),
    System("zinc plate with epoxy", "steel-zinc-plated", "epoxy base:2 clear:2", "wash degrease tack", PRACTICE),
    System("stainless with epoxy", "steel-stainless", "epoxy base:2 clear:2", "degrease abrade@180 degrease", PRACTICE),
    System("brass under clear lacquer", "brass-copper", "lacquerclear:2", ALU, PRACTICE),
    System("chrome made dull", "chrome-plate", "epoxy base:2 clear:2", "wash degrease abrade@320 degrease", PRACTICE),
    System("powder coat scuffed", "paint-powder", "base:2 clear:2", OLD, PRACTICE),
    System("powder coat with a sealer", "paint-powder", "sealer base:2 clear:2", OLD, PRACTICE),
    System(
        "old urethane abraded", "paint-urethane", "metallic:2 clear:2", "wash degrease abrade@600 wash tack", REFINISH
    ),
    System("a new wing in factory primer", "paint-electrocoat", "sealer base:2 clear:2", OLD, REFINISH),
    System("old enamel locked in", "paint-enamel", "sealer base:2 clear:2", OLD, "defect guides, lifting: isolate"),
    System("old lacquer in waterborne", "paint-lacquer", "water:3", "wash degrease abrade@500 wash tack", PRACTICE),
    System("old paint, strip held", "paint-unknown", "primer:2 base:2 clear:2", f"held {OLD}", "guides: solvent test"),
    System("gel coat", "gel-coat", "primer:2 base:2 clear:2", "release degrease abrade@320 degrease tack", PRACTICE),
    System("clear on carbon", "laminate-carbon", "clear:3", "release degrease abrade@320 degrease tack", PRACTICE),
    System("a hull of GRP", "up-gf", "epoxy primer:2 base:2 clear:2", "release degrease abrade@220 degrease", PRACTICE),
    System("wood sealed then painted", "wood-solid", "sealer base:2 clear:2", WOOD, PRACTICE),
    System("wood in waterborne", "wood-softwood", "waterprimer:2 water:2 waterclear:2", WOOD, PRACTICE),
    System("a neck in clear lacquer", "wood-hardwood", "sealer lacquerclear:3", WOOD, PRACTICE),
    System("oak in oil varnish", "wood-hardwood", "varnish:3", WOOD, PRACTICE),
    System(
        "teak wiped with acetone",
        "wood-oily",
        "epoxy clear:3",
        "degrease=acetone abrade@220 degrease=acetone",
        PRACTICE,
    ),
    System("MDF primed", "mdf", "primer:2 base:2 clear:2", "abrade@220 tack", PRACTICE),
    System("a bottle with glass primer", "glass", "glassprimer base:2 clear:2", "wash degrease=isopropanol", PRACTICE),
    System("glass from behind", "glass behind", "glassprimer water:2", "wash degrease=isopropanol", PRACTICE),
    System(
        "leather", "leather flexible", "leatherprimer waterflex:3", "wash degrease=isopropanol scuff tack", PRACTICE
    ),
    System("a seat of vinyl", "leather-artificial flexible", "vinylprep vinyl:3", "wash tack", PRACTICE),
    System("promoter on PP", "pp marked", "promoter base:2 clear:2", "release abrade@500 wash tack", PLASTICS),
    System("a PP lip that bends", "pp marked flexible", "promoter base:2 clear+flex:2", BUMPER, PLASTICS),
    System("a bumper of TPO", "tpo marked flexible", "promoter base:2 clear+flex:2", BUMPER, PLASTICS),
    System("a bumper with primer", "tpo flexible", "promoter flexprimer base:2 clear+flex:2", BUMPER, PLASTICS),
    System("a bumper, two-part promoter", "tpo flexible", "promoter2k/flexible base:2 clear+flex:2", BUMPER, PLASTICS),
    System("a TPU spoiler", "tpu flexible", "flexprimer base:2 clear+flex:2", BUMPER, PLASTICS),
    System("a shell in lacquer for it", "pc flexible behind", "shell:2 backing:2", "release tack", PRACTICE),
    System("a shell in waterborne", "pc flexible behind", "waterflex:2 waterflex#2:2", "release wash tack", PRACTICE),
    System("an acrylic sign from behind", "pmma behind", "water:3", "release=water-detergent tack", PRACTICE),
    System("a light of PC from outside", "pc", "primer base:2 clear:2", "release abrade@800 wash tack", PLASTICS),
    System(
        "a housing of nylon", "pa66-gf", "primer:2 base:2 clear:2", "release dry abrade@400 degrease tack", PRACTICE
    ),
    System("a PVC pipe", "pvc-u", "primer:2 base:2 clear:2", "release degrease abrade@400 degrease tack", PRACTICE),
    System("a printed part", "pla-print", "filler:2 primer base:2 clear:2", "wash abrade@240 tack", PRACTICE),
    System("a resin print", "resin-print", "primer:2 base:2 clear:2", "degrease=isopropanol abrade@400 tack", PRACTICE),
    System(
        "an unknown cap, strip held", "unknown unknown", "primer base:2 clear:2", "held wash abrade@600 wash", PRACTICE
    ),
    System("candy over metallic", "steel", "epoxy metallic:2 candy:3 clear:2", STEEL, REFINISH),
    System("waterborne base, two-part clear", "steel", "epoxy water:2 clear:2", STEEL, REFINISH),
    System("lacquer all through", "steel", "etch primer1k:2 lacquer:3 lacquerclear:2", STEEL, PRACTICE),
)

# --- the stages of the work --------------------------------------------------------------------------------

STAGES = ("planned", "cleaned", "prepared", "cup ready", "first coat on", "in time", "all but one", "done", "a week on")


def sound(system: System, stage: str) -> Row:
    """Give the row of a sound piece of work, done up to a stage."""
    return Row(f"{system.what}, {stage}", system.piece, system.stack, _work(system, STAGES.index(stage)))


def _work(system: System, stage: int) -> str:
    prep = system.prep.split()
    first_scratch = next((i for i, w in enumerate(prep) if w.startswith(("abrade", "scuff"))), len(prep))
    layers = [layer_id(word) for word in system.stack.split()]
    done = " ".join(f"{x}*" for x in layers)
    early = {
        0: "held" if prep[0] == "held" else "",
        1: " ".join(prep[:first_scratch]),
        2: system.prep,
        3: f"{system.prep} cup:{layers[0]}",
        4: f"{system.prep} {layers[0]}.",
        5: f"{system.prep} {layers[0]}*",
        6: f"{system.prep} {' '.join(f'{x}*' for x in layers[:-1])} cup:{layers[-1]}",
        7: f"{system.prep} {done}",
        8: f"{system.prep} {done} 7d",
    }
    return early[stage]


def layer_id(word: str) -> str:
    """Give the id that a layer of the shorthand has."""
    name, _, nth = word.split(":")[0].partition("#")
    return name.split("+")[0].split("/")[0] + nth
