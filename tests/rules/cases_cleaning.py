"""Cases for the rules of cleaning that look at how the piece was cleaned and abraded, and with what."""

from builders import COLOUR, EPOXY, FILLER, WATERBORNE, JobBuilder
from rules.case_book import fails, panel, passes

from benchtool.job.cards import Card
from benchtool.job.events import Shape


def planned(substrate: str = "aluminium", card: Card = COLOUR, **piece: object) -> JobBuilder:
    """A piece with one layer planned, and no step logged yet."""
    bench = JobBuilder().card(card).piece(substrate=substrate, **piece)
    return bench.layer("first", card, activator=next((a.id for a in card.activators), None))


@fails("cleaning.abraded-before-cleaned")
def abraded_then_degreased() -> JobBuilder:
    return planned().prep("abrade", "degrease")


@fails("cleaning.abraded-before-cleaned")
def scuffed_then_washed_and_painted() -> JobBuilder:
    return planned("abs").prep("scuff", "mould-release wash").coat(mix=None)


@passes("cleaning.abraded-before-cleaned")
def degreased_abraded_degreased() -> JobBuilder:
    return planned().prep("degrease", "abrade", "degrease")


@passes("cleaning.abraded-before-cleaned")
def abraded_too_early_and_once_more_after_the_wash() -> JobBuilder:
    return planned().prep("abrade", "wash", "degrease", "abrade", "degrease")


@passes("cleaning.abraded-before-cleaned")
def bare_wood_is_sanded_first() -> JobBuilder:
    return planned("plywood-birch").prep("abrade", "degrease", "tack")


@fails("cleaning.not-wiped")
def abraded_and_left_dusty() -> JobBuilder:
    return planned().prep("wash", "degrease", "abrade")


@fails("cleaning.not-wiped")
def painted_over_the_dust() -> JobBuilder:
    return planned().prep("wash", "abrade").coat(mix=None)


@passes("cleaning.not-wiped")
def abraded_and_tacked_off() -> JobBuilder:
    return planned().prep("wash", "degrease", "abrade", "tack")


@passes("cleaning.not-wiped")
def abraded_and_degreased() -> JobBuilder:
    return planned().prep("wash", "abrade", "degrease")


@fails("cleaning.cleaned-long-ago")
def cleaned_the_day_before_yesterday() -> JobBuilder:
    return planned().prep("wash", "degrease").wait(hours=49)


@passes("cleaning.cleaned-long-ago")
def degreased_again_this_morning() -> JobBuilder:
    return planned().prep("wash", "degrease").wait(hours=49).prep("degrease")


@passes("cleaning.cleaned-long-ago")
def painted_on_the_day() -> JobBuilder:
    return planned().prep("wash").coat(mix=None).wait(hours=200)


@fails("cleaning.water-break")
def water_beaded_on_the_tank() -> JobBuilder:
    return planned().prep("wash", "degrease").prep("water-break test", passed=False)


@fails("cleaning.water-break")
def waterborne_over_silicone_on_steel() -> JobBuilder:
    bench = planned("steel", WATERBORNE).prep("wash", "degrease", "abrade", "degrease")
    return bench.prep("water-break test", passed=False)


@fails("cleaning.water-break")
def cleaned_again_and_not_tested_again() -> JobBuilder:
    return planned().prep("wash").prep("water-break test", passed=False).prep("degrease")


@passes("cleaning.water-break")
def the_water_ran_off_in_one_sheet() -> JobBuilder:
    bench = planned().prep("wash").prep("water-break test", passed=False).prep("degrease")
    return bench.prep("water-break test", passed=True)


@passes("cleaning.water-break")
def water_beads_on_clean_polypropylene_too() -> JobBuilder:
    return panel(substrate="pp").prep("water-break test", passed=False)


@passes("cleaning.water-break")
def nobody_said_how_it_went() -> JobBuilder:
    return planned().prep("wash", "water-break test")


@fails("cleaning.harmful-cleaner")
def acetone_on_polycarbonate() -> JobBuilder:
    return planned("pc").prep("mould-release wash").prep("degrease", agent="acetone")


@fails("cleaning.harmful-cleaner")
def ethanol_on_acrylic() -> JobBuilder:
    return planned("pmma", face="behind clear").prep("mould-release wash").prep("degrease", agent="ethanol")


@passes("cleaning.harmful-cleaner")
def acetone_on_steel() -> JobBuilder:
    return planned("steel").prep("degrease", agent="acetone")


@passes("cleaning.harmful-cleaner")
def detergent_on_polycarbonate() -> JobBuilder:
    return planned("pc").prep("mould-release wash", agent="release-wash").prep("wash", agent="water-detergent")


@passes("cleaning.harmful-cleaner")
def a_cleaner_that_no_table_knows() -> JobBuilder:
    return planned("pc").prep("mould-release wash", agent="own-brew")


@fails("cleaning.solvent-in-nooks")
def naphtha_in_the_seams() -> JobBuilder:
    return planned(shape=(Shape.NOOKS,)).prep("degrease", agent="naphtha").wait(minutes=5)


@fails("cleaning.solvent-in-nooks")
def naphtha_in_the_seams_once_more() -> JobBuilder:
    bench = planned(shape=(Shape.NOOKS,)).prep("degrease", agent="naphtha").wait(hours=1)
    return bench.prep("degrease", agent="naphtha").wait(minutes=5)


@passes("cleaning.solvent-in-nooks")
def the_seams_are_dry() -> JobBuilder:
    return planned(shape=(Shape.NOOKS,)).prep("degrease", agent="naphtha").wait(minutes=30)


@passes("cleaning.solvent-in-nooks")
def a_flat_panel() -> JobBuilder:
    return planned().prep("degrease", agent="naphtha")


@passes("cleaning.solvent-in-nooks")
def soapy_water_in_the_seams() -> JobBuilder:
    return planned(shape=(Shape.NOOKS,)).prep("wash", agent="water-detergent")


@fails("cleaning.abrasive-range")
def p80_on_aluminium() -> JobBuilder:
    return planned("aluminium", EPOXY).prep("wash").prep("abrade", grit=80).prep("degrease")


@fails("cleaning.abrasive-range")
def polished_down_to_p2000() -> JobBuilder:
    return planned("steel", EPOXY).prep("wash").prep("abrade", grit=120).prep("abrade", grit=2000).prep("degrease")


@passes("cleaning.abrasive-range")
def p80_and_then_p240() -> JobBuilder:
    bench = planned("aluminium", EPOXY).prep("wash").prep("abrade", grit=80).prep("abrade", grit=240)
    return bench.prep("degrease")


@passes("cleaning.abrasive-range")
def coarse_under_a_filler() -> JobBuilder:
    return planned("aluminium", FILLER).prep("wash").prep("abrade", grit=80).prep("degrease")


@passes("cleaning.abrasive-range")
def nobody_said_which_grade() -> JobBuilder:
    return planned("aluminium", EPOXY).prep("wash", "abrade", "degrease")


@fails("cleaning.texture-abraded")
def the_grain_of_a_dashboard_abraded() -> JobBuilder:
    bench = panel(substrate="abs", shape=(Shape.TEXTURED,)).prep("mould-release wash")
    return bench.prep("abrade", grit=400).prep("degrease")


@passes("cleaning.texture-abraded")
def the_grain_rubbed_with_a_pad_as_planned() -> JobBuilder:
    return panel(substrate="abs", shape=(Shape.TEXTURED,)).prep("mould-release wash", "abrade", "degrease")


@passes("cleaning.texture-abraded")
def scuffed_with_a_soft_pad() -> JobBuilder:
    return panel(substrate="abs", shape=(Shape.TEXTURED,)).prep("mould-release wash", "scuff", "degrease")


@passes("cleaning.texture-abraded")
def a_smooth_face_abraded() -> JobBuilder:
    return panel(substrate="abs").prep("mould-release wash", "abrade", "degrease")
