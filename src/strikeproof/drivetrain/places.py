"""The peak that each place of an article sees: that of its own joint."""

from __future__ import annotations

import math

import numpy as np

from strikeproof.drivetrain.records import ArticleModel, TorqueLimit
from strikeproof.quantity import FloatArray

__all__ = ["list_joints", "place_peaks"]


def list_joints(article: ArticleModel) -> tuple[int | str, ...]:
    """An article's own joints as its limits name them, in the order of the chain that it is built into."""
    soft = (rider.name for rider in article.riders if math.isfinite(rider.stiffness))
    return (*range(len(article.lumps) + 1), *soft)


def place_peaks(article: ArticleModel, run_as: ArticleModel, peaks: FloatArray) -> FloatArray:
    """Largest torque at each of an article's limits: the greatest of its own joints.

    Parameters
    ----------
    article
        Its limits name their joints.
    run_as
        The article as it was simulated. Where its bonds slip at another torque than the article's, theirs
        are scaled, so that what slipped is beyond its limit. A rider that was simulated in one piece with its
        carrier is given its share of the largest torque on the path, an estimate.
    peaks : (..., joints)
        Largest torques at the joints of `run_as`. [N·m]

    Returns
    -------
    (..., limits) [N·m]
    """
    found = np.zeros((*peaks.shape[:-1], len(article.torque_limits)))
    for column, limit in enumerate(article.torque_limits):
        found[..., column] = _peak_at(limit, article, run_as, peaks)
    return found


def _peak_at(
    limit: TorqueLimit, article: ArticleModel, run_as: ArticleModel, peaks: FloatArray
) -> FloatArray:
    joints = list_joints(run_as)
    last = len(run_as.lumps)
    path: FloatArray = peaks[..., : last + 1]
    if isinstance(limit.joints, str):
        if limit.joints not in joints:
            return np.asarray(limit.share * path.max(axis=-1))
        factor = _slip(article, limit.joints) / _slip(run_as, limit.joints)
        return np.asarray(factor * peaks[..., joints.index(limit.joints)])
    if last == len(article.lumps):
        return np.asarray(path[..., list(limit.joints)].max(axis=-1))
    ends = {0: 0, len(article.lumps): last}
    if all(joint in ends for joint in limit.joints):
        return np.asarray(path[..., [ends[joint] for joint in limit.joints]].max(axis=-1))
    return np.asarray(path.max(axis=-1))


def _slip(article: ArticleModel, name: str) -> float:
    """Torque at which a rider's bond slips; 1 where it never does."""
    return next((each.slip_torque for each in article.riders if each.name == name), 0.0) or 1.0
