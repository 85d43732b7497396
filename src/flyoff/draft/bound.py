"""Words bound to a figure by a Markdown link: ``[1,090 nm](figure:tern.range?altitude=6000ft)``."""

from collections.abc import Sequence
from dataclasses import replace
from urllib.parse import unquote

from flyoff.draft.quantities import Mention
from flyoff.draft.text import Block

SCHEME = "figure:"


def bound_figures(block: Block, mentions: Sequence[Mention]) -> list[Mention]:
    """Return the quantities, those inside a link to a figure with its key."""
    bound = [link for link in block.links if link.target.startswith(SCHEME)]
    if not bound:
        return list(mentions)
    return [
        next(
            (
                replace(mention, figure=unquote(link.target.removeprefix(SCHEME)))
                for link in bound
                if link.start <= mention.start and mention.end <= link.end
            ),
            mention,
        )
        for mention in mentions
    ]
