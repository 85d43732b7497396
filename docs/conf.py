"""Sphinx configuration: Markdown pages, a quiet theme, equations as MathML; nothing from the network."""

import sys
from pathlib import Path

import flyoff

sys.path.insert(0, str(Path(__file__).parent / "tools"))

project = "flyoff"
version = release = flyoff.__version__ if hasattr(flyoff, "__version__") else ""
extensions = ["myst_parser", "mathml"]
exclude_patterns = ["_build", "tools"]
myst_enable_extensions = ["dollarmath", "colon_fence", "deflist"]
myst_heading_anchors = 3
nitpicky = True

html_theme = "furo"
html_title = "flyoff"
html_math_renderer = "mathml"
html_static_path = ["_static"]
html_css_files = ["flyoff.css"]
html_copy_source = False
html_show_sphinx = False
html_show_copyright = False
pygments_style = "friendly"
pygments_dark_style = "native"
