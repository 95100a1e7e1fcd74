"""A number says its unit in its name; what has no unit is on a short list with its reason."""

import ast
from collections.abc import Iterator

import pytest

from architecture.source_tree import SCIENCE, files_under, public_functions_of, told, tree_of

UNITS = (
    "_mm",
    "_um",
    "_nm",
    "_m",
    "_px",
    "_dpt",
    "_deg",
    "_rad",
    "_mmhg",
    "_ml",
    "_ul",
    "_ug",
    "_mg_per_ml",
    "_ml_per_min",
    "_logmar",
    "_cycles_per_deg",
    "_s",
    "_years",
    "_days",
    "_percent",
    "_dpt2",  # a variance of refractions
    "_mm2",  # a radicand of lengths
    "_per_mm",  # a curvature, or a power as ray matrices hold it
    "_per_mm2",  # how light or an index falls off with the square of a radius
)

WITHOUT_UNIT = {
    "mcnemar_p_value": "a probability",
    "gains_half": "a fraction of eyes",
    "worse": "a fraction of eyes",
    "within_now": "fractions by limit, 0 to 1",
    "a_constant": "SRK/T's constant has no unit",
    "haigis_from_a": "three constants, of which only the first is a length",
    "a1": "Haigis: millimetres for each millimetre",
    "a2": "Haigis: millimetres for each millimetre",
    "constants": "mixed, in the order of the formula's constant_names",
    "constant_for_zero_mean": "in the unit of the formula's own constant",
    "keratometric_index": "a refractive index",
    "implied_keratometric_index": "a refractive index",
    "refractive_index": "a refractive index",
    "index": "a refractive index",
    "index_before": "a refractive index",
    "index_after": "a refractive index",
    "independent_eyes": "a number of eyes",
    "effective_eyes": "a number of eyes",
    "weight": "a share, 0 to 1",
    "within": "fractions by limit, 0 to 1",
    "within_0_25": "a fraction, 0 to 1",
    "within_0_50": "a fraction, 0 to 1",
    "within_0_75": "a fraction, 0 to 1",
    "within_1_00": "a fraction, 0 to 1",
    "fraction_below": "a fraction, 0 to 1",
    "fraction_within_if_confirmed": "a fraction, 0 to 1",
    "fraction_within_when_chosen_anew": "a fraction, 0 to 1",
    "fraction_within": "a fraction, 0 to 1",
    "fraction_apart": "a fraction, 0 to 1",
    "fraction_both_within": "a fraction, 0 to 1",
    "variance_left": "a share, 0 to 1",
    "own_weight": "a share, 0 to 1",
    "correlation": "-1 to 1",
    "shifted_normal_draws": "standard normal numbers",
    "residual_degrees_of_freedom": "a shape of Student's t, without unit",
    "error_correlations": "correlations have no unit",
    "error_covariance": "each entry in the product of the two units",
    "correlated_unit_errors": "errors in units of their standard deviation",
    "refraction_gain": "dioptres of refraction for one of lens power, or for one at the cornea",
    "draws": "inputs of a model, each in its own unit",
    "other_draws": "inputs of a model, each in its own unit",
    "first_order": "a share of a variance",
    "total": "a share of a variance",
    "variance": "in the square of the output's unit",
    "c_constant": "a share of the old lens's thickness",
    "conic": "Q, the shape of a conic",
    "front_conic": "Q, the shape of a conic",
    "back_conic": "Q, the shape of a conic",
    "anterior_conic": "Q, the shape of a conic",
    "posterior_conic": "Q, the shape of a conic",
    "shape_factor": "a ratio of curvatures",
    "start_index": "a refractive index",
    "cosine_x": "a direction cosine",
    "cosine_y": "a direction cosine",
    "cosine_z": "a direction cosine",
    "axis_x": "a direction cosine",
    "axis_y": "a direction cosine",
    "axis_z": "a direction cosine",
    "axis_of": "three direction cosines",
    "mirrored": "surfaces, and a refractive index",
    "a": "of a ray matrix: height for height",
    "d": "of a ray matrix: slope for slope",
    "correction_index": "a ratio of cylinders",
    "index_of_success": "a ratio of cylinders",
    "flattening_index": "a ratio of cylinders",
    "t_squared": "a statistic, without unit",
    "p_value": "a probability, 0 to 1",
    "magnification": "a ratio of lengths",
    "x_share": "in pupil radii",
    "y_share": "in pupil radii",
    "radius_share2": "square of a radius in pupil radii",
    "fall_off": "an exponent",
    "slope_weight": "a weight",
    "falling_weight": "a weight",
    "launch_slope": "the tangent of an angle",
    "cylinder_ratio": "dioptres of cylinder at the lens for one at the cornea",
    "standard_error": "of a share",
    "select": "chooses between numbers of any unit",
    "yes": "a number of any unit",
    "no": "a number of any unit",
}
"""Names of parameters, fields and functions of numbers without a unit, or with that of their neighbour."""


def is_number(annotation: ast.expr | None) -> bool:
    """Whether an annotation speaks of real numbers; counts, flags and records are none."""
    if annotation is None:
        return False
    words = {node.id for node in ast.walk(annotation) if isinstance(node, ast.Name)}
    real = "float" in words or "Numbers" in words
    attributes = {node.attr for node in ast.walk(annotation) if isinstance(node, ast.Attribute)}
    return (real or "float64" in attributes) and "Callable" not in words


def fields_of(node: ast.ClassDef) -> Iterator[ast.AnnAssign]:
    return (each for each in node.body if isinstance(each, ast.AnnAssign))


def names_of_numbers() -> Iterator[tuple[str, str]]:
    """Where a number is named, and its name."""
    for path in files_under(SCIENCE):
        for function in public_functions_of(path):
            if is_number(function.returns):
                yield f"{told(path)}: {function.name}", function.name
            every = (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)
            for argument in every:
                if is_number(argument.annotation):
                    yield f"{told(path)}: {function.name}({argument.arg})", argument.arg
        for node in tree_of(path).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                for each in fields_of(node):
                    if isinstance(each.target, ast.Name) and is_number(each.annotation):
                        yield f"{told(path)}: {node.name}.{each.target.id}", each.target.id


NAMED = list(names_of_numbers())


@pytest.mark.parametrize(("place", "name"), NAMED, ids=[place for place, _ in NAMED])
def test_a_number_of_science_says_its_unit(place: str, name: str) -> None:
    converted = name.split("_from_", maxsplit=1)[0]
    assert f"_{name}".endswith(UNITS) or f"_{converted}".endswith(UNITS) or name in WITHOUT_UNIT, place


def test_every_exception_is_still_needed() -> None:
    names = {name for _, name in NAMED}
    assert set(WITHOUT_UNIT) - names == set()


def test_there_are_names_to_look_at() -> None:
    assert len(NAMED) > 80
