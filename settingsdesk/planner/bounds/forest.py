"""The bound by a priced spanning forest, for several apparatus that are filled one after the other.

Groups 1 ... K wait for a visit; row and column 0 of each apparatus' costs are its first and last
setup. On each apparatus y the doubled costs have a symmetric part s_y, a leaving part and a closing
part, as in ``bounds.tree``. The apparatus filled now is x, and it stands at h.

1. What is still to come is one path per apparatus that is still used: x goes on from h, later ones
   begin at their first setup. Add a price q(j) to both ends of every visit of a group j and take
   2 q(j) away again for each visit.
2. Look at all first setups and h as one root. Every visit has one edge by which it is entered, from
   the root or from another group. The edges of the *first* visits form a spanning tree of the root
   and the groups visited; so together they weigh at least the minimum spanning tree, where an edge
   between groups weighs min over y >= x of s_y(i, j) + q(i) + q(j), and an edge from the root the
   least that an apparatus y >= x asks for it (from h, if that is x).
3. A path has one root edge and one closing; the least closing of its apparatus, priced, is counted
   with the root edge.
4. A later apparatus that must be used has exactly one root edge; other ones have at most one. So
   ``saving[y]`` may be taken off its root edges and added again once: any number where the
   apparatus must be used, a number not above 0 where it need not be.
5. Further visits must not lower this: a further visit of j is entered from a group or from the root
   of a later apparatus (what follows h is a first visit), and both are kept at 2 q(j) or more.
6. The group at which x stands has got all its turns there for now. If some of it still wait, it
   must be visited again like any other.

Whole numbers throughout, in 1/20 s.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from settingsdesk.planner.bounds.entries import Matrix
from settingsdesk.planner.bounds.symmetric import SCALE, Barred, symmetric


@dataclass(frozen=True, slots=True)
class Forest:
    """Tables for each apparatus x that is filled now; groups 1 ... K, here 0 ... K.

    ``weight[x]`` joins groups to groups and to the roots, of which there is one for each ``here``,
    numbered K + 1 + here. ``added[x]`` is the sum of the savings to be added again.
    """

    weight: list[list[list[int]]]
    price: list[int]
    added: list[int]


@dataclass(frozen=True, slots=True)
class Paths:
    """What one apparatus contributes: costs, arcs it does not have, and whether it must be used."""

    costs: Matrix
    barred: Barred
    must_be_used: bool


def priced_forest(units: Sequence[Paths], rounds: int) -> Forest | None:
    """Prices and savings that make the bound large at the start; None where none are allowed."""
    return _Forest(units).best(rounds)


class _Forest:
    def __init__(self, units: Sequence[Paths]):
        self.forms = [symmetric(unit.costs, unit.barred) for unit in units]
        self.must = [unit.must_be_used for unit in units]
        self.size = len(units[0].costs)
        self.groups = range(1, self.size)
        self.most_saving = [  # what the cheapest visit from the first to the last setup costs
            SCALE * min(form.leave[0][j] + form.close[j] for j in self.groups)
            for form in self.forms
        ]
        self.part = [self._least_part(x) for x in range(len(units))]

    def _least_part(self, x: int) -> list[list[int]]:
        """The least symmetric part of the apparatus from x on."""
        nodes = range(self.size)
        parts = [form.part for form in self.forms[x:]]
        return [[SCALE * min(part[i][j] for part in parts) for j in nodes] for i in nodes]

    def best(self, rounds: int) -> Forest | None:
        best, found = None, None
        now_price, now_saving = [0.0] * self.size, [0.0] * len(self.forms)
        step, stalled = 1.0, 0
        for _ in range(rounds):
            allowed = self._allowed(now_price, now_saving)
            if allowed is None:
                break
            value, price_slope, saving_slope = self._at_start(*allowed)
            if best is None or found is None or value > best:
                best, found, stalled = value, allowed, 0
            elif (stalled := stalled + 1) >= 8:
                step, stalled = 0.6 * step, 0
                now_price, now_saving = [[float(whole) for whole in some] for some in found]
                if step < 0.004:
                    break
                continue
            length = sum(rise * rise for rise in [*price_slope, *saving_slope])
            if length == 0:
                break
            size = step * max(0.12 * abs(best), SCALE) / length
            now_price = [p + size * d for p, d in zip(now_price, price_slope, strict=True)]
            now_saving = [p + size * d for p, d in zip(now_saving, saving_slope, strict=True)]
        return None if found is None else self._tables(*found)

    def _allowed(
        self, price: Sequence[float], saving: Sequence[float]
    ) -> tuple[list[int], list[int]] | None:
        """Whole numbers that keep to steps 4 and 5; None where lowering prices leads nowhere."""
        savings = [
            min(round(wanted), most if must else 0)
            for wanted, most, must in zip(saving, self.most_saving, self.must, strict=True)
        ]
        savings[0] = 0  # the first apparatus is never a later one
        prices = [round(wanted) for wanted in price]
        for _ in range(2 * self.size):
            was = list(prices)
            later = [self._root(y, 0, prices, savings[y]) for y in range(1, len(self.forms))]
            for j in self.groups:
                entries = [self.part[0][i][j] + prices[i] for i in self.groups if i != j]
                prices[j] = min([prices[j], *entries, *(root[j] for root in later)])
            if prices == was:
                return prices, savings
        return None

    def _root(self, y: int, here: int, price: Sequence[int], saving: int) -> list[int]:
        """Root edges of apparatus y from ``here``, without the price of the group entered."""
        form = self.forms[y]
        closing = min(SCALE * form.close[j] + price[j] for j in self.groups)
        return [SCALE * leaving + closing - saving for leaving in form.leave[here]]

    def _at_start(
        self, price: Sequence[int], saving: Sequence[int]
    ) -> tuple[int, list[int], list[int]]:
        """The bound at the start, and how it changes with prices and savings."""
        roots = [self._root(y, 0, price, saving[y]) for y in range(len(self.forms))]
        nearest = {}
        for j in self.groups:
            y = min(range(len(roots)), key=lambda y: roots[y][j])
            nearest[j] = (roots[y][j] + price[j], -1 - y)
        total = sum(saving) - 2 * sum(price)
        price_slope = [0, *[-2] * (self.size - 1)]
        saving_slope = [0, *[1] * (len(roots) - 1)]
        while nearest:
            j = min(nearest, key=lambda node: nearest[node])
            length, origin = nearest.pop(j)
            total += length
            price_slope[j] += 1
            if origin >= 0:
                price_slope[origin] += 1
            else:
                self._count_path(-1 - origin, price, price_slope, saving_slope)
            for k, (known, _) in nearest.items():
                weight = self.part[0][j][k] + price[j] + price[k]
                if weight < known:
                    nearest[k] = (weight, j)
        return total, price_slope, saving_slope

    def _count_path(
        self, y: int, price: Sequence[int], price_slope: list[int], saving_slope: list[int]
    ) -> None:
        close = self.forms[y].close
        price_slope[min(self.groups, key=lambda j: SCALE * close[j] + price[j])] += 1
        if y:
            saving_slope[y] -= 1

    def _tables(self, price: list[int], saving: list[int]) -> Forest:
        units = range(len(self.forms))
        return Forest(
            weight=[self._weight(x, price, saving) for x in units],
            price=price,
            added=[sum(saving[x + 1 :]) for x in units],
        )

    def _weight(self, x: int, price: Sequence[int], saving: Sequence[int]) -> list[list[int]]:
        later = [self._root(y, 0, price, saving[y]) for y in range(x + 1, len(self.forms))]
        table = [[0] * (2 * self.size) for _ in range(2 * self.size)]
        for i in self.groups:
            for j in self.groups:
                table[i][j] = self.part[x][i][j] + price[i] + price[j]
        for here in range(self.size):
            roots = [self._root(x, here, price, 0), *later]
            for j in self.groups:
                edge = min(root[j] for root in roots) + price[j]
                table[self.size + here][j] = table[j][self.size + here] = edge
        return table
