"""The one error this room raises."""


class PaperError(Exception):
    """Paper that cannot be made: a text no barcode holds, a label too small, a sheet file that is wrong.

    `sentence` says what is wrong, with what, and what to do. No page has been written when it is raised.

    >>> PaperError("The sheet 'x' is not known.").sentence
    "The sheet 'x' is not known."
    """

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence
