"""A Sphinx extension: equations as MathML, which browsers draw by themselves."""

from typing import Any

from docutils import nodes
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.application import Sphinx


def _inline(writer: Any, node: nodes.math) -> None:
    writer.body.append(tex2mathml(node.astext()))
    raise nodes.SkipNode


def _block(writer: Any, node: nodes.math_block) -> None:
    writer.body.append(f'<div class="math">{tex2mathml(node.astext(), as_block=True)}</div>')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, Any]:
    """Register the renderer under the name ``mathml``."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
