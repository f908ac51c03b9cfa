"""Parts pressed together until they close as far as they can without overlap: the contact programme.

minimise Σ weight_k s_k over u, with gaps s = g + A u >= 0. A knows nothing of boxes: any matrix and weights will do.

basis  : as many contact points as unknowns, taken as touching; it fixes u, all other gaps, and the forces
force  : the dual λ of a point, Aᵀλ = Aᵀw, λ >= 0; it does not depend on g, so one start basis serves every box
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.errors import SettlingError
from assembly.tolerance.compiled import kernel

FloatArray = NDArray[np.float64]
TOUCHING = 1e-12  # a gap above minus this needs no more pivots
PIVOTS = 2000


@dataclass(frozen=True, slots=True)
class Settled:
    gaps: FloatArray
    moves: FloatArray
    pivots: NDArray[np.int64]


class ContactProgramme:
    def __init__(self, matrix, weights, equality=None, typical=None):
        matrix = np.asarray(matrix, float); self.weights = np.atleast_2d(np.asarray(weights, float))
        n = matrix.shape[1]
        if equality is None:
            self.null = np.eye(n)
        else:
            _, _, vt = np.linalg.svd(np.asarray(equality, float)[None]); self.null = vt[1:].T
        self.matrix = matrix @ self.null
        m, n = self.matrix.shape
        p = len(self.weights)
        self.tab = np.empty((p, m - n + n + 1, n)); 
        self.bases = np.empty((p, n), int); self.rest = np.empty((p, m - n), int)
        self.T = np.empty((p, m - n, n)); self.lam = np.empty((p, n)); self.inv = np.empty((p, n, n))
        for i, w in enumerate(self.weights):
            lam = self._vertex(w)
            basis = np.flatnonzero(lam > 0)
            self.bases[i] = basis; rest = np.setdiff1d(np.arange(m), basis); self.rest[i] = rest
            inv = np.linalg.inv(self.matrix[basis]); self.inv[i] = inv
            self.T[i] = self.matrix[rest] @ inv; self.lam[i] = lam[basis]

    def _vertex(self, w):
        lam = w.copy(); A = self.matrix; rng = np.random.default_rng(0); 
        while True:
            S = np.flatnonzero(lam > 0)
            if len(S) <= A.shape[1]: return lam
            _, _, vt = np.linalg.svd(A[S].T); d = vt[-1]
            if not (d < 0).any(): d = -d
            neg = d < 0; ratio = np.where(neg, lam[S] / np.where(neg, -d, 1), np.inf); j = ratio.argmin()
            lam[S] = lam[S] + ratio[j] * d; lam[S[j]] = 0; lam[lam < 1e-9] = 0

    def settle(self, g, pattern):
        g = np.ascontiguousarray(g); pattern = np.ascontiguousarray(pattern)
        m, n = self.matrix.shape
        gaps = np.empty_like(g); moves = np.empty((n, g.shape[1])); piv = np.empty(g.shape[1], np.int64)
        run(g, pattern, self.T, self.lam, self.bases, self.rest, self.inv, gaps, moves, piv)
        if (piv < 0).any(): raise SettlingError("pivots")
        pinv = np.linalg.pinv(self.matrix)
        moves = self.null @ (pinv @ (gaps - g))
        return Settled(gaps, moves, piv)


@kernel
def run(g, pattern, T0, lam0, bases, rest, inv, gaps, moves, piv):
    m, K = g.shape
    n = T0.shape[2]; q = m - n
    T = np.empty((q, n)); lam = np.empty(n); s = np.empty(q); B = np.empty(n, np.int64); N = np.empty(q, np.int64)
    row = np.empty(n)
    for i in range(K):
        p = pattern[i]
        T[:] = T0[p]; lam[:] = lam0[p]; B[:] = bases[p]; N[:] = rest[p]
        for a in range(q):
            acc = g[N[a], i]
            for b in range(n): acc -= T[a, b] * g[B[b], i]
            s[a] = acc
        count = 0
        while True:
            r = -1; worst = -1e-12
            for a in range(q):
                if s[a] < worst: worst = s[a]; r = a
            if r < 0: break
            c = -1; best = 1e300
            for b in range(n):
                if T[r, b] > 1e-9 and lam[b] / T[r, b] < best: best = lam[b] / T[r, b]; c = b
            if c < 0 or count > 2000: count = -2; break
            # point N[r] becomes touching, B[c] opens: s_r = T_r,c * s_c + ... 
            pv = T[r, c]; 
            for b in range(n): row[b] = T[r, b] / pv
            sr = s[r]; t = best
            for b in range(n): lam[b] -= t * T[r, b]
            lam[c] = t
            for a in range(q):
                if a != r:
                    f = T[a, c]
                    if f != 0.0:
                        for b in range(n): T[a, b] -= f * row[b]
                        s[a] -= f * (sr / pv)
                        T[a, c] = f / pv
            for b in range(n): T[r, b] = -row[b]
            T[r, c] = 1 / pv
            s[r] = -sr / pv
            tmp = B[c]; B[c] = N[r]; N[r] = tmp
            count += 1
        piv[i] = count
        for b in range(n): gaps[B[b], i] = 0.0
        for a in range(q): gaps[N[a], i] = max(s[a], 0.0)
