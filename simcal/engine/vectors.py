"""Copying and multiplying plain arrays, written out so that the compiler makes vectors of the inner loops."""

from __future__ import annotations

from simcal.engine.arrays import Floats
from simcal.jit import kernel, summed

BLOCK = 4
"""rows of a `product` are filled up with zeros to whole blocks, and columns, for the sake of vectors"""


def whole(count: int, blocks: int = 1) -> int:
    """The count filled up to whole multiples of so many blocks."""
    return -(-count // (blocks * BLOCK)) * blocks * BLOCK


@kernel
def copy(source: Floats, target: Floats) -> None:
    """target = source, vectors of one length."""
    for i in range(target.shape[0]):
        target[i] = source[i]


@kernel
def multiply(a: Floats, b: Floats, out: Floats) -> None:
    """out = a b, for square matrices; noughts in a, of which there are many, are passed over."""
    n = a.shape[0]
    for i in range(n):
        for j in range(n):
            out[i, j] = 0.0
        for k in range(n):
            value = a[i, k]
            if value != 0.0:
                for j in range(n):
                    out[i, j] += value * b[k, j]


@kernel
def multiply_first(row: Floats, out: Floats) -> None:
    """out = a b, for square matrices side by side in row [n, k n], a the first of them and b all; four rows at a time.

    Long rows suit vectors better than several short products do.
    """
    n, wide = row.shape
    for i in range(n):
        for j in range(wide):
            out[i, j] = 0.0
        k = 0
        while k + 4 <= n:
            p, q, r, s = row[i, k], row[i, k + 1], row[i, k + 2], row[i, k + 3]
            if p != 0.0 or q != 0.0 or r != 0.0 or s != 0.0:
                for j in range(wide):
                    out[i, j] += (p * row[k, j] + q * row[k + 1, j]) + (r * row[k + 2, j] + s * row[k + 3, j])
            k += 4
        while k < n:
            p = row[i, k]
            if p != 0.0:
                for j in range(wide):
                    out[i, j] += p * row[k, j]
            k += 1


@summed
def product(rows: Floats, z: Floats, still: Floats, out: Floats) -> None:
    """out = still + rows z, in whole blocks of rows."""
    for i in range(0, out.shape[0], BLOCK):
        a, b, c, d = 0.0, 0.0, 0.0, 0.0
        for j in range(z.shape[0]):
            value = z[j]
            a += rows[i, j] * value
            b += rows[i + 1, j] * value
            c += rows[i + 2, j] * value
            d += rows[i + 3, j] * value
        out[i], out[i + 1], out[i + 2], out[i + 3] = still[i] + a, still[i + 1] + b, still[i + 2] + c, still[i + 3] + d


@summed
def inner(a: Floats, i: int, z: Floats) -> float:
    """Row i of a times z."""
    total = 0.0
    for j in range(a.shape[1]):
        total += a[i, j] * z[j]
    return total
