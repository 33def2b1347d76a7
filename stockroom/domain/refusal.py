"""The one error a person is shown: a job that cannot be done, said in a sentence they can act on."""


class Refusal(Exception):  # noqa: N818 - the trade's word; it is an answer, not a fault of the program
    """A job that cannot be done. Nothing has changed when it is raised.

    `sentence` says what is wrong, with what, and what to do, in words a stores clerk can act on.
    `faults` holds further sentences where several things are wrong at once (every fault of a file, say).

    >>> str(Refusal("There is no kit 'bot-set'. The nearest name is 'boot-set'."))
    "There is no kit 'bot-set'. The nearest name is 'boot-set'."
    """

    def __init__(self, sentence: str, faults: tuple[str, ...] = ()) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.faults = faults
