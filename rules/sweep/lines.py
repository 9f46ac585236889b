"""Small least squares: polynomials of a few terms through weighted points, in plain floats."""

from collections.abc import Sequence

Point = tuple[float, float, float]  # abscissa, ordinate, weight

_SINGULAR = 1e-12


def fit_polynomial(points: Sequence[Point], terms: int) -> tuple[float, ...] | None:
    """Coefficients c with y = c[0] + c[1]·x + … that make Σ w·(y − c·x)² least.

    Returns:
        `terms` coefficients, None where the points don't determine them.
    """
    sums, sides = [0.0] * (2 * terms - 1), [0.0] * terms
    for x, y, weight in points:
        power = weight
        for row in range(terms):
            sums[row] += power
            sides[row] += power * y
            power *= x
        for row in range(terms, len(sums)):
            sums[row] += power
            power *= x
    matrix = [[*sums[row : row + terms], sides[row]] for row in range(terms)]
    return solve(matrix)


def solve(matrix: list[list[float]]) -> tuple[float, ...] | None:
    """Solve n equations given as rows of n + 1 numbers (the last is the right side)."""
    size = len(matrix)
    for k in range(size):
        pivot = max(range(k, size), key=lambda row: abs(matrix[row][k]))
        if abs(matrix[pivot][k]) < _SINGULAR:
            return None
        matrix[k], matrix[pivot] = matrix[pivot], matrix[k]
        for row in range(k + 1, size):
            factor = matrix[row][k] / matrix[k][k]
            for column in range(k, size + 1):
                matrix[row][column] -= factor * matrix[k][column]
    answer = [0.0] * size
    for k in reversed(range(size)):
        rest = sum(matrix[k][j] * answer[j] for j in range(k + 1, size))
        answer[k] = (matrix[k][size] - rest) / matrix[k][k]
    return tuple(answer)


def value_at(coefficients: Sequence[float], x: float) -> float:
    """The polynomial's value at `x`."""
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total
