"""Copying and multiplying plain arrays, written out so that the compiler makes vectors of the inner loops."""

from __future__ import annotations

from simcal.engine.arrays import Floats
from simcal.jit import inlined, kernel

BLOCK = 4
"""rows and columns of a `product` are filled up with zeros to whole blocks"""


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
def multiply_full(a: Floats, b: Floats, out: Floats) -> None:
    """out = a b, for square matrices; four rows of b at a time."""
    n = a.shape[0]
    for i in range(n):
        for j in range(n):
            out[i, j] = 0.0
        k = 0
        while k + 4 <= n:
            p, q, r, s = a[i, k], a[i, k + 1], a[i, k + 2], a[i, k + 3]
            if p != 0.0 or q != 0.0 or r != 0.0 or s != 0.0:
                for j in range(n):
                    out[i, j] += (p * b[k, j] + q * b[k + 1, j]) + (r * b[k + 2, j] + s * b[k + 3, j])
            k += 4
        while k < n:
            p = a[i, k]
            for j in range(n):
                out[i, j] += p * b[k, j]
            k += 1


@inlined
def product(columns: Floats, z: Floats, still: Floats, out: Floats) -> None:
    """out = still + sum of columns[j] z[j], in whole blocks."""
    for i in range(out.shape[0]):
        out[i] = still[i]
    for j in range(0, z.shape[0], BLOCK):
        a, b, c, d = z[j], z[j + 1], z[j + 2], z[j + 3]
        for i in range(out.shape[0]):
            out[i] += (columns[j, i] * a + columns[j + 1, i] * b) + (columns[j + 2, i] * c + columns[j + 3, i] * d)
