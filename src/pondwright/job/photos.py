"""Photos of the log side by side: what was, and the same view again."""

from __future__ import annotations

from dataclasses import dataclass

from pondwright.job.log import Log, PhotoEntry


@dataclass(frozen=True, slots=True)
class PhotoPairs:
    """Pairs of photos from one spot, before and after, and photos that repeat one that is not there."""

    pairs: tuple[tuple[PhotoEntry, PhotoEntry], ...]
    adrift: tuple[PhotoEntry, ...]


def photos_of(log: Log) -> tuple[PhotoEntry, ...]:
    """Photos of a log, the earliest first; of the same time, in the order in which they came in."""
    found = [entry for entry in log.entries if isinstance(entry, PhotoEntry)]
    return tuple(sorted(found, key=lambda entry: entry.time))


def photo_pairs(log: Log) -> PhotoPairs:
    """Pairs of photos that were taken from the same spot.

    A photo that repeats another makes a pair with it, the earlier one first whichever of the two names the
    other.  One that repeats itself, another kind of entry, or nothing that is there, is adrift.

    Examples
    --------
    >>> from pondwright.job.log import read_entry
    >>> entry = '{"kind": "photo", "id": "%s", "time": "2027-0%d-01T08:00:00Z"%s}'
    >>> first = read_entry(entry % ("a", 3, ""))
    >>> second = read_entry(entry % ("b", 6, ', "repeats": "a"'))
    >>> [(before.id, after.id) for before, after in photo_pairs(Log((second, first))).pairs]
    [('a', 'b')]
    """
    pairs, adrift = [], []
    for photo in photos_of(log):
        if photo.repeats is None:
            continue
        other = log.by_id.get(photo.repeats)
        if not isinstance(other, PhotoEntry) or other is photo:
            adrift.append(photo)
        elif other.time <= photo.time:
            pairs.append((other, photo))
        else:
            pairs.append((photo, other))
    return PhotoPairs(tuple(pairs), tuple(adrift))
