"""All families, in the order of the table."""

from benchmarks.cases import Family
from benchmarks.families import cutups, jobs, large, published, single, standard

FAMILIES: tuple[Family, ...] = (*jobs.FAMILIES, *cutups.FAMILIES, *standard.FAMILIES, *published.FAMILIES,
                                *single.FAMILIES, *large.FAMILIES)  # fmt: skip
