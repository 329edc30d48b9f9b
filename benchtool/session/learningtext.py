"""What the record says of a product as plain text, for whoever wants to keep it or read it aloud."""

from benchtool.session.learning import Product, Record
from benchtool.session.learningshown import Lane, cases_words, lanes_of
from benchtool.trade.saying import say, say_n


def product_name(product: Product) -> str:
    """Name a product, or all of them."""
    if not product.card:
        return say("All products")
    return say("{name}, on test strips", name=product.name) if product.strips else product.name


def product_detail(product: Product) -> str:
    """Say in a few words how much there is of it."""
    told = []
    if product.waits:
        told.append(say_n("{n} wait", "{n} waits", product.waits))
        told.append(say("{n} missed", n=product.missed) if product.missed else say("none missed"))
    if product.cups:
        told.append(say_n("{n} cup", "{n} cups", len(product.cups)))
    return ", ".join(told) or say_n("{n} part measured", "{n} parts measured", len(product.pours))


def record_text(record: Record, product: Product) -> str:
    """Write out the plots of a product, each with how many cases stand behind it, and the cases."""
    blocks = [f"{product_name(product)}\n{record.words}", *(_lane_text(lane) for lane in lanes_of(product))]
    return "\n\n".join(blocks) + "\n"


def _lane_text(lane: Lane) -> str:
    lines = [f"{lane.title} ({cases_words(lane.n)})", *lane.said]
    for name, early, within, late in lane.parts:
        told = say("{early} too early, {within} in time, {late} too late", early=early, within=within, late=late)
        lines.append(f"- {name}: {told}")
    lines += [f"- {mark.words}" for mark in lane.marks]
    return "\n".join(lines)
