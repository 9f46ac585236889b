"""Student's t and the normal distribution, in pure Python.

They are here, and not taken from SciPy, because a budget is made while the bench runs and SciPy
takes longer to load than a sweep takes to judge. The tests hold both against SciPy to 1e-9.

Equations: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.1 (tail as an incomplete
beta function), 26.5.8 (its continued fraction), 26.7.5 and 26.7.8 (many degrees of freedom).
"""

import math
from functools import lru_cache

MANY_DOF = 1000.0  # from here on the expansion in 1/dof is exact to 1e-12
NEARLY_NORMAL_DOF = 1e6  # from here on 26.7.8 is exact to 1e-11 and the fraction loses digits
_STIRLING_FROM = 20.0  # from here on three terms of Stirling's series are exact to 1e-13
_HALF = 0.5
_TINY = 1e-300
_STEPS_MAX = 400
_CLOSE = 1e-15
_ASKED_MAX = 4096  # budgets cut their degrees of freedom to whole numbers: few are ever asked for


def normal_tail(z: float) -> float:
    """Probability that a standard normal value is above `z`."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))


def normal_quantile(p: float) -> float:
    """The standard normal value with probability `p` below it, 0 < p < 1.

    Raises:
        ValueError: `p` is not between 0 and 1.
    """
    if not 0.0 < p < 1.0:
        msg = f"a probability between 0 and 1 was expected, not {p}"
        raise ValueError(msg)
    return -_upper_normal(p) if p < _HALF else _upper_normal(1.0 - p)


def _upper_normal(tail: float) -> float:
    """The value with probability `tail` (at most a half) above it."""
    # Start: Abramowitz and Stegun 26.2.23 (good to 4.5e-4); then Newton on the log of the tail,
    # which is smooth even where the tail itself is far below one.
    s = math.sqrt(-2.0 * math.log(tail))
    top = 2.515517 + s * (0.802853 + s * 0.010328)
    bottom = 1.0 + s * (1.432788 + s * (0.189269 + s * 0.001308))
    z = s - top / bottom
    for _ in range(4):
        density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
        now = normal_tail(z)
        z += math.log(now / tail) * now / density
    return z


def t_tail(t: float, dof: float) -> float:
    """Probability that Student's t with `dof` degrees of freedom is above `t`.

    Args:
        t: any finite number.
        dof: above 0; infinity gives the normal distribution.

    Raises:
        ValueError: `dof` is out of range.
    """
    _check_dof(dof)
    if math.isinf(dof):
        return normal_tail(t)
    if dof >= NEARLY_NORMAL_DOF:
        return normal_tail(t * (1.0 - 0.25 / dof) / math.sqrt(1.0 + 0.5 * t * t / dof))
    if t <= 0.0:
        return 1.0 - t_tail(-t, dof) if t < 0.0 else 0.5
    half, square = dof / 2.0, t * t
    near, far = dof / (dof + square), square / (dof + square)  # their sum is 1
    log_beta = 0.5 * math.log(math.pi) - _log_gamma_step(half)
    front = math.exp(half * math.log(near) + 0.5 * math.log(far) - log_beta)
    if near < (half + 1.0) / (half + 2.5):  # where this form's fraction converges at once
        return 0.5 * front / half * _beta_fraction(near, half, 0.5)
    return 0.5 - front * _beta_fraction(far, 0.5, half)


@lru_cache(maxsize=_ASKED_MAX)
def t_quantile(p: float, dof: float) -> float:
    """The value of Student's t with probability `p` below it, 0 < p < 1.

    Args:
        p: probability below the value.
        dof: degrees of freedom, above 0; infinity gives the normal distribution.

    Raises:
        ValueError: `p` or `dof` is out of range.
    """
    _check_dof(dof)
    z = normal_quantile(p)
    if math.isinf(dof) or z == 0.0:
        return z
    size = _many_dof_quantile(abs(z), dof) if dof >= MANY_DOF else _few_dof_quantile(abs(z), dof)
    return math.copysign(size, z)


def _many_dof_quantile(z: float, dof: float) -> float:
    """Abramowitz and Stegun 26.7.5."""
    z2 = z * z
    first = z * (z2 + 1.0) / 4.0
    second = z * ((5.0 * z2 + 16.0) * z2 + 3.0) / 96.0
    third = z * (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) / 384.0
    fourth = z * ((((79.0 * z2 + 776.0) * z2 + 1482.0) * z2 - 1920.0) * z2 - 945.0) / 92160.0
    return z + (first + (second + (third + fourth / dof) / dof) / dof) / dof


def _few_dof_quantile(z: float, dof: float) -> float:
    """Solve log tail(t) = log tail(z) by Newton in log t, kept inside a bracket."""
    wanted = math.log(normal_tail(z))
    low, high = z, 2.0 * z  # t is never nearer to zero than the normal value
    while math.log(t_tail(high, dof)) > wanted:
        low, high = high, 4.0 * high
    t = math.sqrt(low * high)
    for _ in range(_STEPS_MAX):
        tail = t_tail(t, dof)
        excess = math.log(tail) - wanted
        low, high = (t, high) if excess > 0.0 else (low, t)
        step = excess * tail / (t * _t_density(t, dof))
        new = t * math.exp(step) if abs(step) < 1.0 else -1.0
        if not low <= new <= high:
            new = math.sqrt(low * high)
        if abs(new - t) <= _CLOSE * t:
            return new
        t = new
    return t


def _t_density(t: float, dof: float) -> float:
    log = _log_gamma_step(dof / 2.0) - 0.5 * math.log(dof * math.pi)
    return math.exp(log - (dof + 1.0) / 2.0 * math.log1p(t * t / dof))


def _log_gamma_step(x: float) -> float:
    """Logarithm of Γ(x + 1/2) / Γ(x), without the loss of digits of a plain difference."""
    if x < _STIRLING_FROM:
        return math.lgamma(x + 0.5) - math.lgamma(x)
    inverse = 1.0 / x
    square = inverse * inverse
    series = inverse * (-1.0 / 8.0 + square * (1.0 / 192.0 - square / 640.0))
    return 0.5 * math.log(x) + series


def _beta_fraction(x: float, a: float, b: float) -> float:
    """The continued fraction of 26.5.8, evaluated forwards (modified Lentz)."""
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    product = d
    for m in range(1, _STEPS_MAX):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        last = 1.0
        for term in (even, odd):
            d = 1.0 + term * d
            c = 1.0 + term / c
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = c if abs(c) > _TINY else _TINY
            last = d * c
            product *= last
        if abs(last - 1.0) < _CLOSE:
            break
    return product


def _check_dof(dof: float) -> None:
    if not dof > 0.0:
        msg = f"degrees of freedom above 0 were expected, not {dof}"
        raise ValueError(msg)
