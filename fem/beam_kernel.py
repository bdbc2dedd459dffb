"""The beam element: constant strain along the screw between its two nodes.

Notation (node a, node b, everything in the axes of the node it belongs to; tangent first):

    d = (u, w) = log(H_a^-1 H_b)          screw between the two node frames        (mm, rad)
    strain     = (d - d0) / l             d0 the same screw in the passive shape   (stretch, shears, curvatures)
    f          = element law(strain)      force and moment resultants              (N, N mm)
    g_b = T(d)^T f,  g_a = -T(-d)^T f     nodal wrenches, T(d) = [[P, B], [0, P]]  inverse body Jacobian
    P = I + w~/2 + c w~^2,   B = u~/2 + c (w~ u~ + u~ w~) + 2 c' (w.u) w~^2        (B: derivative of P along u)

The strain does not change under rigid motions of the element, so it is objective; it is exact for arcs,
helices and uniform twist, so curved wires do not lock.  The tangent is the exact derivative of the nodal
wrenches in closed form, symmetrised: its skew part vanishes at equilibrium, and what is left is the Hessian
along exponential updates.

The element law is that of element_law_kernel.

Source: Sonneville, Cardona & Bruls, Comput. Methods Appl. Mech. Engng 268 (2014) 451.  Geometric part from the
predicted stress (mixed iteration): Magisano, Leonetti & Garcea, Comput. Methods Appl. Mech. Engng 315 (2017) 1."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel
from geometry.motion import jacobian_coefficients, relative_motion


@kernel
def element_screws(positions, axes, screws):
    """screws (m, 6) of the m elements between n = m + 1 nodes:

    positions (n, 3) mm, axes (n, 3, 3) as columns.
    """
    for e in range(screws.shape[0]):
        relative_motion(positions[e], axes[e], positions[e + 1], axes[e + 1], screws[e])


@kernel
def inverse_jacobian(d, p, b):
    """P and B (3, 3) of T(d) for the screw d (6,)."""
    ux, uy, uz, wx, wy, wz = d[0], d[1], d[2], d[3], d[4], d[5]
    s = wx * wx + wy * wy + wz * wz
    c, c1, c2 = jacobian_coefficients(s)
    wu = wx * ux + wy * uy + wz * uz
    k = 2.0 * c1 * wu
    p[0, 0] = 1.0 + c * (wx * wx - s)
    p[1, 1] = 1.0 + c * (wy * wy - s)
    p[2, 2] = 1.0 + c * (wz * wz - s)
    p[0, 1] = c * wx * wy - 0.5 * wz
    p[1, 0] = c * wx * wy + 0.5 * wz
    p[0, 2] = c * wx * wz + 0.5 * wy
    p[2, 0] = c * wx * wz - 0.5 * wy
    p[1, 2] = c * wy * wz - 0.5 * wx
    p[2, 1] = c * wy * wz + 0.5 * wx
    diagonal = -2.0 * c * wu - k * s
    b[0, 0] = 2.0 * c * ux * wx + k * wx * wx + diagonal
    b[1, 1] = 2.0 * c * uy * wy + k * wy * wy + diagonal
    b[2, 2] = 2.0 * c * uz * wz + k * wz * wz + diagonal
    off = c * (ux * wy + wx * uy) + k * wx * wy
    b[0, 1] = off - 0.5 * uz
    b[1, 0] = off + 0.5 * uz
    off = c * (ux * wz + wx * uz) + k * wx * wz
    b[0, 2] = off + 0.5 * uy
    b[2, 0] = off - 0.5 * uy
    off = c * (uy * wz + wy * uz) + k * wy * wz
    b[1, 2] = off - 0.5 * ux
    b[2, 1] = off + 0.5 * ux


@kernel
def nodal_wrenches(p, b, f, at_a, at_b):
    """at_a = -T(-d)^T f and at_b = T(d)^T f, (6,) each in its own node's axes;

    T(-d) has the blocks P^T, B^T.
    """
    for i in range(3):
        fa = 0.0
        ma = 0.0
        fb = 0.0
        mb = 0.0
        for j in range(3):
            fa += p[i, j] * f[j]
            ma += b[i, j] * f[j] + p[i, j] * f[3 + j]
            fb += p[j, i] * f[j]
            mb += b[j, i] * f[j] + p[j, i] * f[3 + j]
        at_a[i] = -fa
        at_a[3 + i] = -ma
        at_b[i] = fb
        at_b[3 + i] = mb


@kernel
def odd_part(w, s, c, c1, n, out):
    """out = c (w n^T + (w.n) I - 2 n w^T) + 2 c' (w (w.n) - s n) w^T:

    the part of dP(w)^T n / dw that is odd in w.
    """
    wn = w[0] * n[0] + w[1] * n[1] + w[2] * n[2]
    for i in range(3):
        second = 2.0 * c1 * (w[i] * wn - s * n[i])
        for j in range(3):
            out[i, j] = c * (w[i] * n[j] - 2.0 * n[i] * w[j]) + second * w[j]
        out[i, i] += c * wn


@kernel
def _geometric(d, f, odd_n, lower):
    """The three parts of d(T(d)^T f)/dd for fixed f.

    odd_n (3, 3): odd part for the force; lower (3, 3): second derivative along u plus the odd part for the
    moment.  The even parts are n~/2 and m~/2.  At -d the odd parts change sign."""
    u = d[:3]
    w = d[3:]
    n = f[:3]
    m = f[3:]
    s = w[0] * w[0] + w[1] * w[1] + w[2] * w[2]
    c, c1, c2 = jacobian_coefficients(s)
    odd_part(w, s, c, c1, n, odd_n)
    odd_part(w, s, c, c1, m, lower)
    wn = w[0] * n[0] + w[1] * n[1] + w[2] * n[2]
    wu = w[0] * u[0] + w[1] * u[1] + w[2] * u[2]
    nu = n[0] * u[0] + n[1] * u[1] + n[2] * u[2]
    for i in range(3):
        v = w[i] * wn - s * n[i]
        along_w = 2.0 * c1 * (w[i] * nu + wn * u[i] - 2.0 * n[i] * wu) + 4.0 * c2 * wu * v
        for j in range(3):
            lower[i, j] += (
                c * (u[i] * n[j] - 2.0 * n[i] * u[j])
                + along_w * w[j]
                + 2.0 * c1 * (wu * (w[i] * n[j] - 2.0 * n[i] * w[j]) + v * u[j])
            )
        lower[i, i] += c * nu + 2.0 * c1 * wu * wn


@kernel
def _times_jacobian(x, p, b, transposed, out):
    """out (6, 6) = x T with T = [[P, B], [0, P]], or with P^T, B^T where ``transposed``."""
    for i in range(6):
        for j in range(3):
            left = 0.0
            right = 0.0
            for k in range(3):
                if transposed:
                    pk = p[j, k]
                    bk = b[j, k]
                else:
                    pk = p[k, j]
                    bk = b[k, j]
                left += x[i, k] * pk
                right += x[i, k] * bk + x[i, 3 + k] * pk
            out[i, j] = left
            out[i, 3 + j] = right


@kernel
def _jacobian_times(p, b, transposed, m, scale, out):
    """out (6, 6) = scale T^T m with T as in `_times_jacobian`."""
    for i in range(3):
        for j in range(6):
            top = 0.0
            low = 0.0
            for k in range(3):
                if transposed:
                    pk = p[i, k]
                    bk = b[i, k]
                else:
                    pk = p[k, i]
                    bk = b[k, i]
                top += pk * m[k, j]
                low += bk * m[k, j] + pk * m[3 + k, j]
            out[i, j] = scale * top
            out[3 + i, j] = scale * low


@kernel
def assemble_wrenches(screws, stress, gradient, jacobians):
    """gradient (n, 6) += nodal wrenches; jacobians (m, 2, 3, 3) = P and B of each element for later use."""
    at_a = np.empty(6)
    at_b = np.empty(6)
    for e in range(screws.shape[0]):
        inverse_jacobian(screws[e], jacobians[e, 0], jacobians[e, 1])
        nodal_wrenches(jacobians[e, 0], jacobians[e, 1], stress[e], at_a, at_b)
        for i in range(6):
            gradient[e, i] += at_a[i]
            gradient[e + 1, i] += at_b[i]


@kernel
def section_wrenches(screws, stress, out):
    """out (m, 2, 6): section force and moment at both ends of every element, in that end's axes."""
    p = np.empty((3, 3))
    b = np.empty((3, 3))
    for e in range(screws.shape[0]):
        inverse_jacobian(screws[e], p, b)
        nodal_wrenches(p, b, stress[e], out[e, 0], out[e, 1])
        for i in range(6):
            out[e, 0, i] = -out[e, 0, i]


@kernel
def assemble_tangent(screws, jacobians, lengths, stiffness, geometric_stress, diagonal, upper):
    """diagonal (n, 6, 6) += and upper (m, 6, 6) = the symmetrised tangent of all elements."""
    xa = np.empty((6, 6))
    xb = np.empty((6, 6))
    aa = np.empty((6, 6))
    ab = np.empty((6, 6))
    ba = np.empty((6, 6))
    bb = np.empty((6, 6))
    odd = np.empty((3, 3))
    lower = np.empty((3, 3))
    for e in range(screws.shape[0]):
        p = jacobians[e, 0]
        b = jacobians[e, 1]
        scale = 1.0 / lengths[e]
        _jacobian_times(p, b, False, stiffness[e], scale, xb)
        _jacobian_times(p, b, True, stiffness[e], -scale, xa)
        f = geometric_stress[e]
        _geometric(screws[e], f, odd, lower)
        for i in range(3):
            for j in range(3):
                xb[i, 3 + j] += odd[i, j]
                xb[3 + i, j] += odd[i, j]
                xb[3 + i, 3 + j] += lower[i, j]
                xa[i, 3 + j] -= odd[i, j]
                xa[3 + i, j] -= odd[i, j]
                xa[3 + i, 3 + j] -= lower[i, j]
        for half in range(2):  # the even parts n~/2, m~/2
            x = 0.5 * f[3 * half]
            y = 0.5 * f[3 * half + 1]
            z = 0.5 * f[3 * half + 2]
            if half == 0:
                for rows, columns in ((0, 3), (3, 0)):
                    for target in (xa, xb):
                        target[rows, columns + 1] -= z
                        target[rows + 1, columns] += z
                        target[rows, columns + 2] += y
                        target[rows + 2, columns] -= y
                        target[rows + 1, columns + 2] -= x
                        target[rows + 2, columns + 1] += x
            else:
                for target in (xa, xb):
                    target[3, 4] -= z
                    target[4, 3] += z
                    target[3, 5] += y
                    target[5, 3] -= y
                    target[4, 5] -= x
                    target[5, 4] += x
        _times_jacobian(xb, p, b, False, bb)
        _times_jacobian(xa, p, b, True, aa)
        _times_jacobian(xa, p, b, False, ab)
        _times_jacobian(xb, p, b, True, ba)
        for i in range(6):
            for j in range(6):
                diagonal[e, i, j] -= 0.5 * (aa[i, j] + aa[j, i])
                diagonal[e + 1, i, j] += 0.5 * (bb[i, j] + bb[j, i])
                upper[e, i, j] = 0.5 * (ab[i, j] - ba[j, i])


@kernel
def predict_stress(jacobians, lengths, stiffness, stress, step, share, predicted):
    """predicted (m, 6) = stress + stiffness x (strain change linear in ``share`` of the step (n, 6))."""
    change = np.empty(6)
    for e in range(stress.shape[0]):
        p = jacobians[e, 0]
        b = jacobians[e, 1]
        for i in range(3):
            du = 0.0
            dw = 0.0
            for k in range(3):
                du += p[i, k] * step[e + 1, k] + b[i, k] * step[e + 1, 3 + k]
                du -= p[k, i] * step[e, k] + b[k, i] * step[e, 3 + k]
                dw += p[i, k] * step[e + 1, 3 + k] - p[k, i] * step[e, 3 + k]
            change[i] = share * du / lengths[e]
            change[3 + i] = share * dw / lengths[e]
        for i in range(6):
            total = stress[e, i]
            for j in range(6):
                total += stiffness[e, i, j] * change[j]
            predicted[e, i] = total
