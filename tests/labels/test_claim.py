"""The claim: the roll's barcode reads back, what is claimed is said, nothing runs over."""

from dataclasses import replace

import pytest

from labels import ClaimPaper, Flaw, PaperError, ShortLength, claim_pdf
from tests.labels.examples import CLAIM, HOSTILE, LONG, WORDLESS
from tests.labels.reading import assert_reads_back, assert_within_pages, ink_outside, page_count, pictures, texts


def test_the_roll_reads_back() -> None:
    assert_reads_back(claim_pdf(CLAIM), [["R000123K"]])


def test_the_page_says_all_that_the_supplier_needs() -> None:
    (page,) = texts(claim_pdf(CLAIM))
    for said in (
        "Claim",
        "Roll R000123K",
        "Lindow Trim",
        "Hollin Cloth Mill",
        "purchase P-0598",
        "IG, 25 November 2026, 09:14",
        "Ribbed boot carpet",
        "RBC-MAROON",
        "maroon",
        "4471",
        "P-0598 roll 1",
        "length it came in with 10.00 m",
        "length found 9.40 m",
        "SHORT 0.60 m less than it came in with.",
        "0.60 m less, measured by IG on 4 November.",
        "1.20 m to 1.26 m slub",
        "4.00 m to 4.10 m stain",
        "FLAWED 0.16 m in all.",
        "signed",
        "page 1 of 1",
    ):
        assert said in page, said


def test_only_what_is_claimed_is_said() -> None:
    (flawed,) = texts(claim_pdf(replace(CLAIM, short=None)))
    assert "SHORT" not in flawed
    assert "length it came in with" not in flawed
    (short,) = texts(claim_pdf(replace(CLAIM, flaws=(), flawed="")))
    assert "FLAWED" not in short
    assert "Flaws" not in short


def test_a_supplier_that_is_not_known_leaves_a_line_to_write_on() -> None:
    (known,) = texts(claim_pdf(CLAIM))
    (unknown,) = texts(claim_pdf(replace(CLAIM, supplier="", purchase="")))
    assert "not written down" not in known
    assert unknown.count("not written down") == 2
    filled_in = unknown[unknown.index("To be filled in") :]
    assert "supplier purchase what we ask for signed" in filled_in
    assert "supplier" not in known[known.index("To be filled in") :]


def test_a_claim_for_nothing_is_refused() -> None:
    with pytest.raises(PaperError, match="neither a short length nor a flaw"):
        claim_pdf(replace(CLAIM, short=None, flaws=()))


def test_hundreds_of_flaws_run_on_over_the_pages_and_none_is_lost() -> None:
    flaws = tuple(Flaw(f"{at}.10 m to {at}.20 m", f"slub number {at:03d}") for at in range(200))
    pdf = claim_pdf(replace(CLAIM, flaws=flaws))
    pages = texts(pdf)
    assert page_count(pdf) > 3
    assert all(f"slub number {at:03d}" in " ".join(pages) for at in range(200))
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert "Claim, roll R000123K" in page
    assert_within_pages(pdf, 10.0)


@pytest.mark.parametrize(
    "text", [LONG, WORDLESS, HOSTILE, "\n" * 60], ids=["long", "one word", "hostile", "empty lines"]
)
def test_nothing_runs_over(text: str) -> None:
    claim = ClaimPaper(
        shop=text,
        supplier=text,
        roll_code="R000123K",
        item=text,
        title=text,
        printed=text,
        purchase=text,
        label=text,
        colour=text,
        dye_lot=text,
        width=text,
        received=text,
        remark=text,
        short=ShortLength(text, text, text, (text, text)),
        flaws=(Flaw(text, text), Flaw(text, text)),
        flawed=text,
    )
    pdf = claim_pdf(claim)
    assert_within_pages(pdf, 10.0)
    for picture in pictures(pdf, 72):
        assert ink_outside(picture, [(11.5, 10.0, 198.5, 287.0)], 72) == 0
    assert_reads_back(pdf, [["R000123K"], *[[] for _ in range(page_count(pdf) - 1)]])


def test_the_same_claim_gives_the_same_bytes() -> None:
    assert claim_pdf(CLAIM) == claim_pdf(CLAIM)
