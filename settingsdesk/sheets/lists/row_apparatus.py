"""Which apparatus and which axis the cells of a row name, where a table says it row by row."""

from functools import cached_property

from settingsdesk.domain.base.figures import quoted
from settingsdesk.domain.base.kinds import KINDS
from settingsdesk.domain.base.names import on_one_line
from settingsdesk.sheets.lists.blocks import Block
from settingsdesk.sheets.lists.found import Found
from settingsdesk.sheets.lists.grid import Grid, Line
from settingsdesk.sheets.lists.layout import Layout
from settingsdesk.sheets.lists.notes import is_known_whole
from settingsdesk.sheets.lists.preview import Choice, ColumnQuestion
from settingsdesk.sheets.lists.vocabulary import HeaderMeaning, Role, header_words, together

MOST_AXES = 300  # different names of adjustments, or of apparatus, in one table
MODEL_UNKNOWN = (
    "Nothing is taken of this, as the model {model} is not known here: add it, or write one of"
    " {known} in the list, or choose it here"
)
NO_APPARATUS = (
    "Nothing is taken of this, as {model} is no apparatus that is known: choose which is meant"
)


class RowApparatus:
    """What the rows of one table say of models, kinds and axes, each word worked out once."""

    def __init__(self, grid: Grid, block: Block, found: Found, layout: Layout) -> None:
        self.grid, self.block, self.found, self.layout = grid, block, found, layout
        self._known: dict[str, tuple[str | None, str | None]] = {}

    def said(self, text: str) -> tuple[str | None, str | None]:
        """The known model and the kind that a cell names, as written or as a person answered."""
        if text not in self._known and len(self._known) < MOST_AXES:
            answers, known = self.found.answers, self.found.known_models
            answered = answers.get(f"model:{on_one_line(text)}", "")
            model = (
                known.named(text) or known.named(answered) or known.named(answers.get("model", ""))
            )
            said = header_words(text if is_known_whole(text) else "")
            kinds = {at.kind for at in said.axes}
            kind = known.kind_of(model) if model else said.kind
            if kind is None and len(kinds & self._kinds_of_values) == 1:
                [kind] = kinds & self._kinds_of_values
            if kind is None and answered in KINDS:
                kind = answered
            self._known[text] = model, kind
        return self._known.get(text, (None, None))

    def ask_for_model(self, line: Line, text: str, person: int) -> None:
        """Ask once which apparatus a word means; whoever has it waits."""
        name = on_one_line(text)
        key = f"model:{name}"
        self.found.hold([person], key)
        if any(question.key == key for question in self.found.questions):
            return
        column = next(
            column.place
            for column in self.layout.of_rows
            if (cell := self.grid.at(line, column.place)) is not None and cell.text == text
        )
        models = tuple(Choice(known, known) for known in self.found.models)
        kinds = tuple(Choice(kind.key, f"no model: {kind.name.lower()}") for kind in KINDS.values())
        if self.block.is_ours:
            kinds = ()  # it names models, and nothing is meant without one
        number, letter = self.grid.where(line, column)
        self.found.ask(
            ColumnQuestion(
                key=key,
                about="model",
                sheet=self.grid.sheet,
                line=letter,
                row=number,
                header=name,
                why=(MODEL_UNKNOWN if models else NO_APPARATUS).format(
                    model=quoted(name), known=", ".join(self.found.models)
                ),
                choices=models + kinds,
                likely=self._likely_model(),
                cells=sum(
                    text == at.text for of_body in self.block.body for at in of_body.cells.values()
                ),
                examples=(name,),
            )
        )

    def axis_said(self, text: str, kind: str | None) -> HeaderMeaning | None:
        """What a long list says of the axis in a row: by the kind, or the other rows' axes."""
        meaning = self._axes_together.get(text)
        if meaning is not None and kind:
            meaning = header_words(text).within(kind)
        return meaning if meaning is not None and meaning.axis else None

    @cached_property
    def _kinds_of_values(self) -> set[str]:
        """The kinds that all of the columns of values can be of."""
        axes = [
            column.meaning.axes for column in self.layout.values.values() if column.meaning.axes
        ]
        kinds = [{at.kind for at in of_column} for of_column in axes]
        return set.intersection(*kinds) if kinds else set()

    def _likely_model(self) -> str:
        """The only model of the kind that the columns are of; nothing where there are several."""
        of_kind = [
            name for name, kind in self.found.models.items() if kind in self._kinds_of_values
        ]
        return of_kind[0] if len(of_kind) == 1 else ""

    @cached_property
    def _axes_together(self) -> dict[str, HeaderMeaning]:
        """The axes that a long list names, where they settle each other as headers do."""
        places = [column.place for column in self.block.of_role(Role.AXIS)]
        cells = [self.grid.at(line, place) for line in self.block.body for place in places]
        texts = list(dict.fromkeys(cell.text for cell in cells if cell is not None))[:MOST_AXES]
        return dict(zip(texts, together([header_words(text) for text in texts]), strict=True))
