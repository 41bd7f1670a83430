"""Where the numbers come from: one record per outside source, looked up by key."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """One outside source of a formula, a value or a rule.

    Parameters
    ----------
    key : str
        Short name used in docstrings, constants and tests.
    title, edition, section : str
        Where to find it; empty where the source has no such part.
    seen : bool
        True if the text was seen while the course was written; False where it is from memory.
    """

    key: str
    title: str
    edition: str = ""
    section: str = ""
    seen: bool = True


_AIM = "Aeronautical Information Manual"

_RECORDS = (
    Source("definition", "Identity or definition"),
    Source("common-practice", "A fact of the trade: common practice, no source"),
    Source("from-memory", "Believed right, from memory, not seen: never the only oracle of a test", seen=False),
    Source("computed", "Computed from the stated formula, reproducible, not published"),
    Source(
        "FISHER1921",
        "R. A. Fisher: On the 'probable error' of a coefficient of correlation deduced from a small sample",
        "Metron 1, 1921",
        "pp. 3-32",
        seen=False,
    ),
    Source(
        "HENRYSSON1963",
        "S. Henrysson: Correction of item-total correlations in item analysis",
        "Psychometrika 28, 1963",
        "pp. 211-218",
        seen=False,
    ),
    Source(
        "IFH9",
        "Instrument Flying Handbook, FAA-H-8083-15B",
        "2012, current",
        "ch. 9 Navigation Systems, pp. 9-8 to 9-24",
        seen=False,
    ),
    Source(
        "PHAK15",
        "Pilot's Handbook of Aeronautical Knowledge, FAA-H-8083-25C",
        "2023",
        "chapter Navigation: time and distance to a station",
        seen=False,
    ),
    Source("AIM-1-1-3", _AIM, "21 March 2024", "1-1-3 VOR, c (ident), e 2 (station passage)"),
    Source("AIM-1-1-7", _AIM, "copies of 2014 to 2023", "1-1-7 DME"),
    Source("AIM-1-1-8", _AIM, "copies of 2014 to 2023", "1-1-8 navaid service volumes, TBL 1-1-1"),
    Source("AIM-1-1-11", _AIM, "copies of 2014 to 2023", "1-1-11 navaid identifier removal during maintenance"),
    Source("AIM-5-3-8", _AIM, "20 April 2023", "5-3-8 holding, j 2 and j 6; speeds in TBL 5-3-20"),
    Source(
        "AIM-5-4-5", _AIM, "3 April 2014; letters have moved since", "5-4-5 visual descent point, sector altitudes"
    ),
    Source("AIM-5-4-7", _AIM, "20 April 2023", "5-4-7 approach categories, circling"),
    Source("AIM-5-4-20", _AIM, "20 April 2023", "5-4-20 approach and landing minimums, e"),
    Source("AIM-5-4-21", _AIM, "15 August 2019", "5-4-21 missed approach, b"),
    Source(
        "AIM-5-5-4", _AIM, "20 April 2023", "5-5-4 instrument approach, pilot and controller, a 5: cold corrections"
    ),
    Source("AIM-5-5-5", _AIM, "copies of 2014 to 2023", "5-5-5 missed approach, pilot and controller, a 4"),
    Source("AIM-7-2-3", _AIM, "copies of 2014 to 2023", "7-2-3 altimeter setting"),
    Source("AIM-7-3", _AIM, "5 October 2023", "7-3 cold temperature: TBL 7-3-1, worked example 7-3-6"),
    Source("CFR171", "14 CFR 91.171 VOR equipment check", "current, unchanged since 2005"),
    Source("CFR175", "14 CFR 91.175 take-off and landing under IFR", "current"),
    Source("CFR311", "14 CFR 171.311(a) Table 1b, DME channel pairing", "1 January 2024"),
    Source(
        "ACS",
        "Instrument Rating - Airplane Airman Certification Standards, FAA-S-ACS-8C",
        "November 2023",
        "tasks III.B, V.A, VI.A, VI.C",
    ),
    Source(
        "FCL",
        "European Part-FCL, Annex I to Regulation (EU) 1178/2011, as summarised publicly",
        "",
        "Appendix 7, flight test tolerances of the instrument rating",
    ),
    Source(
        "LEGIBILITY",
        "Handbook chapter on legibility of text, Taylor & Francis, 10.1201/b22361-52",
        "abstract",
        "quotes the FAA: character height 1/200 of the viewing distance; 16 to 18 minutes of arc might be acceptable",
    ),
    Source("FAAQ", "FAA airman knowledge test bank, public questions", seen=False),
    Source(
        "AFM", "Instrument Flight Procedures, AFMAN 11-217 Vol 1", "3 January 2005, withdrawn", "ch. 7", seen=False
    ),
    Source("AF60", "Summary of 60:1 rules and formulas, USAF", "January 2005", seen=False),
    Source("AF60b", "Appendix: 60-1 rule, USAF", seen=False),
    Source("P-203", "Air Navigation, CNATRA P-203", "Rev 08-02", seen=False),
    Source("P-340", "T-34C Instruments, CNATRA P-340", "", "ch. 6: printed pages 6-21 and 6-98"),
    Source("P-801", "Instrument Navigation, CNATRA P-801", "February 1993", seen=False),
    Source("P-804", "FLIP guide, CNATRA P-804", seen=False),
    Source("P-821", "CNATRA P-821", "", "Fig. 3-8", seen=False),
    Source("P-869", "CNATRA P-869", "", "Fig. 5-6", seen=False),
    Source("P-871", "Instrument Navigation, CNATRA P-871", "", "ch. 4, app. C"),
    Source("P-1204", "CNATRA P-1204", "April 2001", "p. 76"),
    Source("P-1215", "CNATRA P-1215", "December 2000"),
    Source("P-1265", "CNATRA P-1265", "May 1999", "pp. 2-8 to 2-11", seen=False),
    Source("P-330", "T-34C Contact, CNATRA P-330", "", "turn pattern"),
    Source("P-1235", "CNATRA P-1235", "March 1997", "p. 1-16", seen=False),
    Source("P-1244", "CNATRA P-1244", "June 1999", "pp. 5-6, 5-10, 5-17"),
    Source("P-1282", "CNATRA P-1282", "February 2002", "pp. 3-7, 5-6 to 5-11"),
    Source("P-305", "IFR Workbook, CNATRA P-305", seen=False),
    Source("T6B", "T-6B Instrument Flight Training Instruction, CNATRA P-765", "", "601, 602"),
    Source("ANX11", "ICAO Annex 11", "", "Attachment A, para 7.4", seen=False),
    Source("ANX10", "ICAO Annex 10 Vol I, as summarised publicly", "", "3.3 VOR, 3.5 DME", seen=False),
    Source("ANX14", "ICAO Annex 14 Vol I", "", "3.4 runway strips: half width 140 m", seen=False),
    Source(
        "DOC8168-2-ARC",
        "ICAO Doc 8168 Vol II",
        "fifth edition, 2006; the seventh of 2020 not seen",
        "Part I, Section 4: 2.1.2 and Fig. I-4-3-1",
    ),
    Source(
        "DOC8168-2-FINAL",
        "ICAO Doc 8168 Vol II",
        "seventh edition, 2020, with Corrigendum 2 of 21 March 2022",
        "Part I, Section 4, Chapter 5: 5.2.2.3 (as quoted publicly), 5.4.5.4 b",
    ),
    Source(
        "DOC8168-2-RASS",
        "ICAO Doc 8168 Vol II",
        "seventh edition, 2020",
        "Part I, Section 4, Chapter 5: 5.4.5.3 (more than 5 NM away: seen quoted; 5 ft for each NM: from memory)",
        seen=False,
    ),
    Source(
        "EASA-AMC5",
        "European acceptable means of compliance, AMC5 CAT.OP.MPA.110 aerodrome operating minima",
        "ED Decision 2023/007/R",
        "(a) to (c), Tables 8, 9 and 15",
    ),
    Source(
        "DOC8168-1",
        "ICAO Doc 8168 Vol I, Part III, 1-4, 4.3.3 (text from memory, proven against the AIM table)",
        seen=False,
    ),
    Source(
        "DOC8168-1-CONE",
        "ICAO Doc 8168 Vol I",
        "fifth edition, 2006",
        "Part I, Section 2: 2.4.4.1 fix tolerance over a VOR, a cone of 50 degrees from the vertical",
    ),
    Source("TC500-020", "Transport Canada AC 500-020, from Doc 8168 Vol II (2020)", "", "4.8", seen=False),
    Source("TM", "US War Department wartime mathematics-for-aircrew manual", "", "appendix p. 165"),
    Source("SI", "Wartime wind-computer instructions, Smithsonian reprint", "", "p. 7"),
    Source("ITU", "Recommendation ITU-R M.1677-1, International Morse code", "October 2009"),
    Source("TM11-459", "US Army TM 11-459, Morse timing and the word PARIS, as quoted publicly"),
    Source("FSF", "Flight Safety Foundation ALAR Briefing Note 7.1, stabilized approach", "2000"),
    Source(
        "IPH4",
        "Instrument Procedures Handbook, FAA-H-8083-16B",
        "2017",
        "ch. 4 Approaches, stabilized approach",
        seen=False,
    ),
    Source("AC108", "FAA AC 120-108 Continuous Descent Final Approach", "20 January 2011; an edition A may stand"),
    Source(
        "8260-3",
        "FAA Order 8260.3G, US Standard for Terminal Instrument Procedures (TERPS)",
        "1 July 2024; values seen in 8260.3B",
        "final descent angles; chapter 3, remote altimeter setting",
    ),
    Source("AIAA-60", "One-in-sixty rule, public summaries"),
    Source("ISA", "ICAO standard atmosphere, published table", "", "even rows 0 to 16,000 ft"),
    Source("WMM2025", "NOAA NCEI World Magnetic Model test values, WMM2025_TEST_VALUES.txt", "2025"),
    Source("WMM2020", "NOAA NCEI World Magnetic Model test values, WMM2020 edition", "2020"),
    Source("WMMHR2025", "NOAA NCEI high-resolution World Magnetic Model test values", "2025"),
    Source(
        "geographiclib",
        "GeographicLib documentation and test set (geographiclib 2.1)",
        "",
        "test_geodesic.py",
    ),
    Source("PROJ", "PROJ manual", "", "geodesic example"),
    Source("GDA", "Australian GDA technical manual", "", "Flinders Peak to Buninyong"),
    Source("scenario", "The course's own invented scenario, the Merrow Isles"),
)

SOURCES: dict[str, Source] = {record.key: record for record in _RECORDS}
"""Every source by its key."""


def source(key: str) -> Source:
    """Look a source up.

    Parameters
    ----------
    key : str
        A key of :data:`SOURCES`.

    Returns
    -------
    Source
        The record.

    Raises
    ------
    KeyError
        If there is no such source.

    Examples
    --------
    >>> source("ITU").edition
    'October 2009'
    """
    return SOURCES[key]
