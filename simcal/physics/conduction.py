"""Conduction of gas sealed in a rigid vessel: how fast it cools when nothing moves.

In a rigid vessel the gas that cools lets the rest expand, so the pressure term of the energy equation stays:
rho cp dT/dt = k lap T + dp/dt. The slowest mode decays with rate k x1^2/(rho cp R^2), x1 the first root of

    slab (half thickness R)   (1 - s) cos x  +   s sin x/x                      = 0
    long cylinder             (1 - s) J0(x)  + 2 s J1(x)/x                      = 0
    sphere                    (1 - s) sin x/x + 3 s (sin x - x cos x)/x^3       = 0

with s = 1 - 1/gamma and gamma = cp/cv at the state. s = 0 is the textbook case of constant pressure. The
cylinder's x1^2 is 1.24 times the textbook's at gamma 1.4. Source: derived here; the textbook case from
Carslaw & Jaeger, Conduction of Heat in Solids. For a lumped balance rho cv V dT/dt = h A dT the same rate
needs h = Nu k/D with Nu = 2 x1^2/gamma (slab, D the gap), x1^2/gamma (cylinder, D the bore), (2/3)
x1^2/gamma (sphere, D the bore).
"""

from __future__ import annotations

from simcal.jit import kernel

SHARE_MAX = 0.85
"""Largest s = 1 - 1/gamma of the polynomials [-] (gamma 6.7); larger ones are held there."""


@kernel
def share_of_pressure(gamma: float) -> float:
    """Return s = 1 - 1/gamma, held to 0..SHARE_MAX.

    gamma: cp/cv at the state [-], >= 1
    """
    return min(max(1.0 - 1.0 / gamma, 0.0), SHARE_MAX)


@kernel
def slab_eigenvalue(gamma: float) -> float:
    """Return x1^2 of the slab [-], within 2e-5 of the root.

    gamma: cp/cv at the state [-], 1..6.7
    """
    s = share_of_pressure(gamma)
    high = 23.99184149 + s * (-39.43507645 + s * (35.92538865 + s * -12.52470322))
    return 2.4673841 + s * (2.00341304 + s * (1.48606378 + s * (2.5419937 + s * (-6.52439942 + s * high))))


@kernel
def cylinder_eigenvalue(gamma: float) -> float:
    """Return x1^2 of the long cylinder [-], within 1e-6 of the root.

    gamma: cp/cv at the state [-], 1..6.7
    """
    s = share_of_pressure(gamma)
    high = -1.16385252 + s * (1.83172345 + s * (-0.4420151 + s * -0.89798814))
    return 5.78318801 + s * (3.99961646 + s * (2.62794955 + s * (1.46556444 + s * (1.46673299 + s * high))))


@kernel
def sphere_eigenvalue(gamma: float) -> float:
    """Return x1^2 of the sphere [-], within 1e-6 of the root.

    gamma: cp/cv at the state [-], 1..6.7
    """
    s = share_of_pressure(gamma)
    high = -3.70333126 + s * (6.19090984 + s * (-6.41342558 + s * 2.13555801))
    return 9.86960682 + s * (5.99951502 + s * (3.27989007 + s * (1.28829365 + s * (1.5411936 + s * high))))
