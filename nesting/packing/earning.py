"""Up to which price a plan is worth a look where kept offcuts are credited."""

from __future__ import annotations

import math

from nesting.packing.rules import Rules

FEW_DEARER = 2  # sheets of the dearest size, that such a plan may cost more


def worth_a_look(rules: Rules, cost: int, value: float) -> int:
    """The most that sheets may cost in a plan of less value: less than all but the parts is never credited.

    With n sheets of a size, each of the price p and worth c as an offcut, a plan's value is at least the sum
    of n (p - c), and what the parts would be worth as offcuts; and p is at most a rate times p - c.

    Parameters
    ----------
    cost : int
        Price of the best plan's sheets, hundredths.
    value : float
        That less its credit.
    """
    instance, prices = rules.instance, rules.prices
    credit = float(instance.credit)
    nets = [price - credit * math.prod(size.usable)
            for price, size in zip(prices, instance.sizes, strict=True)]  # fmt: skip
    most = cost + FEW_DEARER * max(prices)
    if min(nets) <= 0:
        return most  # a sheet that is cheaper than its offcut: then each further one would pay
    parts = sum(area * item.count for area, item in zip(rules.areas, instance.items, strict=True))
    rate = max(price / net for price, net in zip(prices, nets, strict=True))
    return min(most, math.ceil((value - credit * parts) * rate))
