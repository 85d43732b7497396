"""Units in the names that cross a boundary: closed lists of suffixes and of names without unit."""

import ast
import re
from collections.abc import Iterator

SUFFIXES = {
    "m": "m",
    "m2": "m2",
    "m3": "m3",
    "m_s": "m/s",
    "m_s2": "m/s2",
    "m2_s": "m2/s",
    "m3_s": "m3/s",
    "s": "s",
    "hz": "Hz",
    "rev_s": "1/s",
    "rad": "rad",
    "rad_s": "rad/s",
    "deg": "deg",
    "kg": "kg",
    "kg_m": "kg m",
    "kg_m2": "kg/m2",
    "kg_m3": "kg/m3",
    "kg_s": "kg/s",
    "kg_j": "kg/J",
    "kg_w_s": "kg/(W s)",
    "kg_mol": "kg/mol",
    "kg_m_s": "kg/(m s)",
    "kg_m_s_k05": "kg/(m s K½)",
    "k": "K",
    "k_m": "K/m",
    "pa": "Pa",
    "pa_s": "Pa s",
    "n": "N",
    "n_m": "N m",
    "n_m2": "N/m2",
    "w": "W",
    "w_kg": "W/kg",
    "w_s_kg": "W s/kg",
    "j": "J",
    "j_kg": "J/kg",
    "j_kg_k": "J/(kg K)",
    "m_kg": "m/kg",
    "m_m3": "m/m3",
    "per_m": "1/m",
    "per_k": "1/K",
    "per_s": "1/s",
}
"""Suffix to the unit it stands for. A second meaning, where one suffix has two, is in `ALSO`."""

ALSO = {
    "hz": ("1/s",),
    "rev_s": ("rev/s",),
    "kg_m2": ("kg m2",),
    "deg": ("°",),
    "kg_w_s": ("kg/J",),
    "kg_j": ("kg/(W s)",),
}

WITHOUT_UNIT = {
    "mach", "ratio", "efficiency", "count", "exponent", "slope", "gradient", "relative_humidity",
    "lift_to_drag", "figure_of_merit", "polar_intercept", "factor", "share", "flattening",
}  # fmt: skip
WITHOUT_UNIT_ENDINGS = (
    "_ratio", "_coefficient", "_coefficients", "_efficiency", "_fraction", "_count", "_factor", "_factors",
    "_exponent", "_slope", "_gradient", "_number", "_mach",
)  # fmt: skip
DEGREES_ONLY_FOR = ("latitude", "longitude", "azimuth", "bearing", "course", "heading", "track")
"""Places and courses on the Earth are written in degrees everywhere, receivers' records included."""

NUMERIC = {"float", "int", "complex", "Floats", "Array", "NDArray", "ndarray", "ArrayLike", "floating"}


def unit_texts(name: str) -> tuple[str, ...]:
    """Return the spellings of the unit that a name carries: none if it says nothing, `-` if without unit."""
    bare = re.sub(r"^(u|delta|d)_", "", name.lower())
    if bare in WITHOUT_UNIT or bare.endswith(WITHOUT_UNIT_ENDINGS):
        return "-", "1"
    parts = bare.split("_")
    for start in range(1, len(parts)):
        suffix = "_".join(parts[start:])
        if suffix in SUFFIXES and (suffix != "deg" or any(word in bare for word in DEGREES_ONLY_FOR)):
            return SUFFIXES[suffix], *ALSO.get(suffix, ())
    return ()


def is_numeric(annotation: ast.expr | None) -> bool:
    """Tell whether a value so annotated is a number or numbers (what cannot be told counts as one)."""
    if annotation is None:
        return True
    if isinstance(annotation, ast.Constant) and isinstance(annotation.value, str):
        annotation = ast.parse(annotation.value, mode="eval").body
    if isinstance(annotation, ast.Subscript):
        outer = getattr(annotation.value, "id", getattr(annotation.value, "attr", ""))
        if outer in ("Callable", "Literal"):
            return False
        return outer in NUMERIC or is_numeric(annotation.slice)
    if isinstance(annotation, ast.BinOp):
        return is_numeric(annotation.left) or is_numeric(annotation.right)
    if isinstance(annotation, ast.Tuple):
        return any(is_numeric(item) for item in annotation.elts)
    return getattr(annotation, "id", getattr(annotation, "attr", "")) in NUMERIC


def parameters(function: ast.FunctionDef) -> list[ast.arg]:
    """Return a function's parameters, `self` and `cls` left out."""
    spec = function.args
    every = [*spec.posonlyargs, *spec.args, *spec.kwonlyargs, *(a for a in (spec.vararg, spec.kwarg) if a)]
    return [a for a in every if a.arg not in ("self", "cls")]


def public_functions(source: str) -> Iterator[tuple[ast.FunctionDef, bool]]:
    """Yield the public functions of a module, and whether each is a method; overload stubs left out."""
    for node in ast.parse(source).body:
        inside = isinstance(node, ast.ClassDef) and not node.name.startswith("_")
        for each in node.body if isinstance(node, ast.ClassDef) and inside else [node]:
            if isinstance(each, ast.FunctionDef) and not each.name.startswith("_") and not _is_overload(each):
                yield each, inside


def _is_overload(function: ast.FunctionDef) -> bool:
    names = (getattr(d, "id", getattr(d, "attr", "")) for d in function.decorator_list)
    return "overload" in names


def name_findings(path: str, source: str) -> list[str]:
    """Return the numeric parameters and fields whose names say no unit."""
    named = [
        (f"{function.name}({parameter.arg})", parameter.arg, parameter)
        for function, _ in public_functions(source)
        for parameter in parameters(function)
    ]
    named += [
        (f"{node.name}.{field.target.id}", field.target.id, field)
        for node in ast.parse(source).body
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
        for field in node.body
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name)
    ]
    return [
        _no_unit(path, node.lineno, where, name)
        for where, name, node in named
        if not name.startswith("_") and is_numeric(node.annotation) and not unit_texts(name)
    ]


def _no_unit(path: str, line: int, where: str, name: str) -> str:
    return (
        f"{path}:{line}: {where}: '{name}' says no SI unit; end it in one of the suffixes of"
        " tests/helpers/rules/names.py (_m, _m_s, _kg, ...) or, without unit, in _ratio, _coefficient, ..."
    )
