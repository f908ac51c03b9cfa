"""What readers see of tints: their contrast and lightness, in grey, without green-sensitive cones, in the lights."""

import numpy as np

from viewer.scene.tints import AMBIENT, lights

# sRGB to relative luminance. Source: WCAG 2.2, definition of relative luminance.
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
# Encoded sRGB to grey. Source: Recommendation ITU-R BT.601-7, luminance signal E'Y.
_LUMA = np.array([0.299, 0.587, 0.114])
# Linear sRGB as a deuteranope sees it. Source: Machado, Oliveira and Fernandes, A Physiologically-based Model for
# Simulation of Color Vision Deficiency, IEEE TVCG 15 (2009), deuteranomaly of severity 1.0; doi 10.1109/TVCG.2009.113.
_DEUTERANOPE = np.array(
    [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
)


def linear(tints):
    """Return the light of sRGB tints: (…, 3), 0 to 1. Source: WCAG 2.2, definition of relative luminance."""
    tints = np.asarray(tints)
    return np.where(tints <= 0.04045, tints / 12.92, ((tints + 0.055) / 1.055) ** 2.4)


def encoded(light):
    """Return the sRGB tints of linear light: (…, 3); the inverse of `linear`, light beyond 0 to 1 cut off."""
    kept = np.clip(light, 0, 1)
    return np.where(kept <= 0.04045 / 12.92, kept * 12.92, 1.055 * kept ** (1 / 2.4) - 0.055)


def luminance(tints):
    """Return the relative luminance of sRGB tints: (…), 0 (black) to 1 (white)."""
    return linear(tints) @ _LUMINANCE


def contrast(one, other):
    """Return the contrast ratio of tints, 1 to 21. Source: WCAG 2.2, definition of contrast ratio."""
    both = np.stack(np.broadcast_arrays(luminance(one), luminance(other)))
    return (both.max(axis=0) + 0.05) / (both.min(axis=0) + 0.05)


def lightness(tints):
    """Return CIE 1976 lightness L* of tints: (…), 0 to 100. Source: CIE 15:2004, 8.2.1.1."""
    y = luminance(tints)
    return np.where(y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, y * (29 / 3) ** 3)


def grey(tints):
    """Return tints as a grey copy shows them: (…, 3), sRGB."""
    return np.repeat((np.asarray(tints) @ _LUMA)[..., None], 3, axis=-1)


def deuteranope(tints):
    """Return tints as a reader without the green-sensitive cones sees them: (…, 3), sRGB."""
    return encoded(linear(tints) @ _DEUTERANOPE.T)


def shade(normal, side=1.0):
    """Return the share of its tint that a face of this outward normal keeps under the lights, 0 to 1."""
    outward = np.asarray(normal) / np.linalg.norm(normal)
    falling = sum(strength * max(0.0, float(towards @ outward)) for towards, strength in lights(side))
    return min(1.0, AMBIENT + falling)


def lit_and_shaded(colour):
    """Return a tint on the faces that are seen, up, front and right: (3, 3), sRGB."""
    return np.array([shade(normal) * np.array(colour) for normal in ([0, 0, 1], [0, -1, 0], [1, 0, 0])])
