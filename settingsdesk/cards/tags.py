"""The parts of a tagged PDF (ISO 32000-1, 14.8), with parts within parts.

fpdf2 has nothing but a flat list of them, each of a kind of its own, so that its tables are no
tables to whoever has them read aloud.
"""

from collections.abc import Iterator
from typing import Any

from fpdf.structure_tree import StructElem, StructureTreeBuilder
from fpdf.syntax import PDFObject


class Inner(StructElem):
    """A part within another, on the same page."""

    def __init__(self, kind: str, around: StructElem, kids: list[int], page_number: int):
        super().__init__(f"/{kind}", around, kids, page_number)
        around.k.append(self)
        self._around = around

    @property
    def pg(self) -> Any:
        """The page, which fpdf2 tells the outermost part alone, and only as the file is written."""
        return self._around.pg

    @pg.setter
    def pg(self, _page: object) -> None:
        """Of no effect: it is always the page of what is around it."""


class Parts(StructureTreeBuilder):
    """All parts of a file: the outermost as fpdf2 keeps them, and what is within them."""

    def outer(self, kind: str, page_number: int) -> StructElem:
        """A part of a page that has no words but those of the parts within it."""
        part = StructElem(f"/{kind}", self.doc_struct_elem, [], page_number)
        self.doc_struct_elem.k.append(part)
        return part

    def of_words(self, part: StructElem, page_number: int) -> int:
        """Note whose the next words of a page are; gives the page's place in the tree."""
        place = self.spid_per_page_number.setdefault(page_number, len(self.spid_per_page_number))
        self.struct_tree_root.parent_tree.nums[place].append(part)
        return place

    def __iter__(self) -> Iterator[PDFObject]:
        """Everything that is written into the file."""
        yield self.struct_tree_root
        yield self.doc_struct_elem
        yield self.struct_tree_root.parent_tree
        yield from _within(self.doc_struct_elem)


def _within(part: StructElem) -> Iterator[StructElem]:
    for kid in part.k:
        if isinstance(kid, StructElem):
            yield kid
            yield from _within(kid)
