"""Words bound to a figure by a Markdown link: ``[1,090 nm](figure:tern.range?altitude=6000ft)``."""

from collections.abc import Sequence
from dataclasses import replace
from urllib.parse import unquote

from flyoff.draft.mention import Mention
from flyoff.draft.text import Block, Link

SCHEME = "figure:"


def figure_of(link: Link) -> str:
    """Return the figure's key that a link names, or nothing where it links to something else."""
    return unquote(link.target.removeprefix(SCHEME)) if link.target.startswith(SCHEME) else ""


def bound_figures(block: Block, mentions: Sequence[Mention]) -> list[Mention]:
    """Return the quantities, those inside a link to a figure with its key."""
    bound = [link for link in block.links if link.target.startswith(SCHEME)]
    if not bound:
        return list(mentions)
    return [
        next(
            (
                replace(mention, figure=figure_of(link))
                for link in bound
                if link.start <= mention.start and mention.end <= link.end
            ),
            mention,
        )
        for mention in mentions
    ]
