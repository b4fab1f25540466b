"""The series against the equation they solve, solved again by finite volumes written here."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.physics.conduction import Array, Conductor, Layer, Shape, lumped_seconds, roots

CURVATURE = {Shape.SLAB: 0, Shape.CYLINDER: 1, Shape.SPHERE: 2}


def one(value: float) -> Array:
    return np.array([value])


def at(value: float) -> Array:
    return np.array([[value]])


def finite_volumes(
    curvature: int,
    inner: float,
    outer: float,
    fourier: float,
    ambient: float = 0.0,
    start: float = 1.0,
) -> Array:
    """Cell temperatures of a body of unit size, faces at 0 (Biot `inner`) and 1 (Biot `outer`).

    300 cells, exact in time. `ambient` is what the outer face sees; the inner sees 0.
    """
    cells = 300
    faces = np.linspace(0, 1, cells + 1)
    areas = faces**curvature
    volumes = np.diff(faces ** (curvature + 1)) / (curvature + 1)
    width = 1 / cells
    flows = np.zeros((cells, cells))
    for i, link in enumerate(areas[1:-1] / width):
        flows[i : i + 2, i : i + 2] += link * np.array([[-1, 1], [1, -1]])
    if inner:
        flows[0, 0] -= areas[0] / (1 / inner + width / 2)
    into = areas[-1] / (1 / outer + width / 2)
    flows[-1, -1] -= into
    source = np.zeros(cells)
    source[-1] = into * ambient
    in_the_end = np.linalg.solve(flows, -source)
    root = np.sqrt(volumes)
    rates, modes = np.linalg.eigh(flows / root[:, None] / root)
    left = modes.T @ (root * (start - in_the_end))
    return np.asarray(in_the_end + modes @ (np.exp(rates * fourier) * left) / root)


@pytest.mark.parametrize("shape", Shape)
@pytest.mark.parametrize("biot", [0.1, 1.0, 20.0])
@pytest.mark.parametrize("fourier", [0.05, 0.3, 1.5])
def test_a_body_cools_as_finite_volumes_say(shape: Shape, biot: float, fourier: float) -> None:
    cells = finite_volumes(CURVATURE[shape], 0.0, biot, fourier)
    body = Conductor(shape, one(biot))
    for index in (0, 150, 299):
        place = (index + 0.5) / 300
        assert body.theta(at(fourier), place)[0, 0] == pytest.approx(cells[index], abs=2e-4)


@pytest.mark.parametrize(("bottom", "top"), [(0.01, 2.0), (0.5, 3.0), (15.0, 0.4), (200.0, 1.0)])
@pytest.mark.parametrize("fourier", [0.02, 0.2, 1.0])
def test_a_layer_with_unlike_faces_cools_as_finite_volumes_say(
    bottom: float, top: float, fourier: float
) -> None:
    cells = finite_volumes(0, bottom, top, fourier)
    places = (np.array([0, 100, 200, 299]) + 0.5) / 300
    predicted = Layer(one(bottom), one(top), places).theta(at(fourier))[0, :, 0]
    assert predicted == pytest.approx(cells[[0, 100, 200, 299]], abs=2e-4)


@pytest.mark.parametrize(("bottom", "top"), [(0.5, 3.0), (200.0, 1.0)])
@pytest.mark.parametrize("fourier", [0.02, 0.2, 1.0, 20.0])
def test_warm_air_above_a_bath_warms_a_layer_as_finite_volumes_say(
    bottom: float, top: float, fourier: float
) -> None:
    cells = finite_volumes(0, bottom, top, fourier, ambient=1.0, start=0.0)
    places = (np.array([0, 150, 299]) + 0.5) / 300
    predicted = Layer(one(bottom), one(top), places).rise(at(fourier))[0, :, 0]
    assert predicted == pytest.approx(cells[[0, 150, 299]], abs=2e-4)


def test_a_finite_shape_is_the_product_of_its_sides() -> None:
    """A square bar, one Biot number on two sides and another on the others, in two dimensions."""
    cells, fourier, biots = 60, 0.15, (0.8, 6.0)
    width = 1 / cells  # a quarter of it: the middle planes are symmetric

    def side(biot: float) -> Array:
        matrix = np.diag(np.full(cells, -2.0)) + np.diag(np.ones(cells - 1), 1)
        matrix += np.diag(np.ones(cells - 1), -1)
        matrix[0, 0] = -1
        matrix[-1, -1] = -1 - width / (1 / biot + width / 2)
        return np.asarray(matrix / width**2)

    along, across = side(biots[0]), side(biots[1])
    steps = int(fourier / (width**2 / 5)) + 1
    temperatures = np.ones((cells, cells))
    for _ in range(steps):
        flow = along @ temperatures + temperatures @ across.T
        temperatures = temperatures + fourier / steps * flow
    product = 1.0
    for biot in biots:
        product *= Conductor(Shape.SLAB, one(biot)).theta(at(fourier), 0.5 * width)[0, 0]
    assert product == pytest.approx(temperatures[0, 0], abs=5e-4)


@settings(deadline=None)  # a busy machine is no failure
@given(st.sampled_from(Shape), st.floats(1e-3, 1e4))
def test_roots_solve_their_equation_one_in_each_interval(shape: Shape, biot: float) -> None:
    found = roots(shape, one(biot))[0]
    assert (np.floor(found / np.pi) == np.arange(10)).all()
    if shape is Shape.SLAB:
        assert found * np.sin(found) - biot * np.cos(found) == pytest.approx(
            0, abs=1e-9 * (1 + biot)
        )
    if shape is Shape.SPHERE:
        left = np.sin(found) - found * np.cos(found)
        assert left == pytest.approx(biot * np.sin(found), abs=1e-9 * (1 + biot))


@settings(deadline=None)  # a busy machine is no failure
@given(st.sampled_from(Shape), st.floats(1e-2, 1e3))
def test_a_centre_starts_at_one_and_only_cools(shape: Shape, biot: float) -> None:
    thetas = Conductor(shape, one(biot)).theta(np.linspace(0.015, 3, 60)[None])[0]
    assert thetas[0] == pytest.approx(1, abs=2e-5)
    assert (np.diff(thetas) <= 1e-9).all() and (thetas >= 0).all()


@settings(deadline=None)  # a busy machine is no failure
@given(st.floats(0.05, 100), st.floats(0.05, 2))
def test_a_layer_with_like_faces_is_a_slab_of_half_its_depth(biot: float, fourier: float) -> None:
    layer = Layer(one(2 * biot), one(2 * biot), np.array([0.5])).theta(at(fourier / 4))
    assert layer[0, 0, 0] == pytest.approx(
        Conductor(Shape.SLAB, one(biot)).theta(at(fourier))[0, 0], abs=1e-6
    )


@pytest.mark.parametrize("biot", [0.0, -1.0, np.inf, np.nan])
def test_an_impossible_biot_number_is_an_error(biot: float) -> None:
    with pytest.raises(ValueError, match="Biot"):
        Conductor(Shape.SLAB, one(biot))


def test_stirred_food_without_evaporation_follows_newtons_law_exactly() -> None:
    took = lumped_seconds(
        np.array([57.0, 21.0, 5.0]),
        np.array([3000.0, 9000.0]),
        lambda t: np.tile(2.0 * (t - 3.0), (2, 1)),
    )
    expected = np.log(54 / np.array([54.0, 18.0, 2.0]))
    assert took == pytest.approx(np.array([1500 * expected, 4500 * expected]))


def test_stirred_food_never_passes_what_takes_its_heat() -> None:
    took = lumped_seconds(np.array([57.0, 21.0, 3.0, 2.0]), np.ones(1), lambda t: (t - 3.0)[None])
    assert np.isfinite(took[0, :2]).all() and np.isinf(took[0, 2:]).all()
