"""Where the rules come from, with how each source was read."""

from typing import Final

from holdshort.api import Source

_READ: Final = "read"
_SECOND: Final = "read second-hand"
_MEMORY: Final = "from memory"
_DERIVED: Final = "derived"
_PRACTICE: Final = "common practice"

_ALL: Final = (
    Source("practice", "common practice, no published source", _PRACTICE),
    Source(
        "drop-intermittent",
        "FAA AC 43.13-1B, Table 11-6: 1.0 V allowed on a 14 V system for intermittent use, "
        "twice that for continuous; 7.1 %",
        _MEMORY,
    ),
    Source(
        "F1",
        "UK CAA CAP 658 as explained by the national association: above 7 kg a failsafe is "
        "fitted and works",
        _SECOND,
    ),
    Source(
        "F2",
        "UK CAA CAP 658 as explained by the national association: any gas-turbine model has a "
        "failsafe, whatever its mass",
        _SECOND,
    ),
    Source(
        "F3",
        "UK CAA CAP 658 as explained by the national association: a radio that has a failsafe must "
        "use it, at any mass",
        _SECOND,
    ),
    Source(
        "F4",
        "UK CAA CAP 658 as explained by the national association: on loss or corruption of signal "
        "at least throttle closed or idle",
        _SECOND,
    ),
    Source(
        "F6",
        "UK club notice of the CAA rule: at least the electric motor off, the combustion "
        "engine at tick-over",
        _SECOND,
    ),
    Source(
        "F7",
        "UK club notices of the CAA rule: the factory default is often to hold the last position; "
        "hold on the throttle is a fault",
        _SECOND,
    ),
    Source(
        "F8",
        "UK joint turbine code of practice, 2008: engine to idle or shut down within 3 s of "
        "signal loss",
        _READ,
    ),
    Source(
        "F9",
        "UK joint turbine code of practice, 2008: idle instead of stop has to be authorised "
        "by the event organiser",
        _READ,
    ),
    Source(
        "F10",
        "US academy Document 513, 2004, as reported: turbine to idle, preferably off, within "
        "2 s of failsafe activation",
        _SECOND,
    ),
    Source(
        "F11",
        "Canadian turbine guidelines, item 8: the radio failsafe shuts the engine down within "
        "2 s of signal loss",
        _SECOND,
    ),
    Source(
        "F12",
        "FAI Sporting Code Section 4, F3P requirements: propulsion shuts off or fully idles at the "
        "moment the signal fails",
        _SECOND,
    ),
    Source(
        "F14",
        "German association standard rules 10.1.1(2): on loss of control drives are stopped "
        "(the text read breaks off there)",
        _READ,
    ),
    Source(
        "F17",
        "Regulation (EU) 2019/945, Annex, Part 5 (3): class C4 has a pre-determined fixed "
        "position of the flight controls on lost link",
        _READ,
    ),
    Source(
        "F20",
        "university textbook on small unmanned aircraft: on loss of the link low power and a "
        "shallow spiral descent",
        _READ,
    ),
    Source(
        "F21",
        "trade: declare each channel, neutral or a gentle turn; gear, flaps and brakes explicitly",
        _PRACTICE,
    ),
    Source(
        "F25",
        "Australian notice: a large model destroyed; witnesses concluded that an intermediate "
        "unit reversed the throttle in failsafe",
        _SECOND,
    ),
    Source(
        "F26",
        "trade: test again after any change of a failsafe value, receiver, distribution unit "
        "or throttle direction",
        _PRACTICE,
    ),
    Source(
        "F27",
        "UK AAIB record of a 1:5 scale model: link lost, engine stayed near half throttle until "
        "impact",
        _SECOND,
    ),
    Source(
        "F28",
        "MFNZ magazine, March 2024, page 9: throttle failsafe was on hold, the model flew away at "
        "half throttle",
        _READ,
    ),
    Source(
        "F30",
        "trade: redundant receivers go to failsafe only when all links are lost, and all carry the "
        "same values",
        _PRACTICE,
    ),
    Source(
        "F32",
        "UK, Canadian and US wordings compared: the clock starts at loss of signal, in the US "
        "at failsafe activation",
        _SECOND,
    ),
    Source(
        "P1",
        "giant-scale association code, general recommendations: receiver battery of at least 1000 "
        "mAh to 20 lb, 1200 to 30 lb, 1800 to 40 lb, 2000 above",
        _SECOND,
    ),
    Source(
        "P2",
        "giant-scale association code, general recommendations: an hour of flying or more between "
        "charges, more for many or large servos",
        _SECOND,
    ),
    Source(
        "P4",
        "giant-scale association code, general recommendations: servos of flight-critical surfaces "
        "have at least 45 oz.in of torque, a floor for smaller aircraft",
        _SECOND,
    ),
    Source(
        "P5",
        "giant-scale association code: one servo for each aileron and each half of the stabiliser "
        "strongly recommended",
        _SECOND,
    ),
    Source(
        "P13",
        "large-model code of practice, New Zealand: receiver and battery redundancy are ruled by "
        "category; the values could not be read",
        _READ,
    ),
    Source(
        "P16",
        "Regulation (EU) 2019/945, annex, part 5 (2): safely controllable after the failure of one "
        "system or, if appropriate, more",
        _READ,
    ),
    Source(
        "P17",
        "EASA means of compliance with Light-UAS.2511: no single failure takes the aircraft "
        "outside its ground-risk buffer",
        _READ,
    ),
    Source(
        "P18",
        "EASA SC Light-UAS.2510 and 14 CFR 23.2510: no single failure is catastrophic",
        _MEMORY,
    ),
    Source(
        "P19",
        "14 CFR 23.2525 and SC Light-UAS.2525: no single failure stops the supply of essential "
        "loads",
        _MEMORY,
    ),
    Source(
        "P20",
        "university textbook on small unmanned aircraft: a receiver change-over unit is itself a "
        "single point of failure",
        _READ,
    ),
    Source(
        "P24",
        "UK AAIB record AAIB-28421: low-voltage warning set below the recommended level, pack "
        "voltage not checked, control lost",
        _READ,
    ),
    Source(
        "P30",
        "FAA AC 43.13-1B, paragraph 11-66, Tables 11-7 and 11-8: drop is resistance times the "
        "whole run, return included, times current; 0.5 V allowed on a 14 V system (that pairing "
        "from memory)",
        _READ,
    ),
    Source(
        "P32",
        "arithmetic on a pairing from memory: 0.5 V of 14 V is 3.6 %; taking it over as a share to "
        "lower rails is common practice here, with no source",
        _DERIVED,
    ),
    Source(
        "P33",
        "arithmetic: judge a servo against the fully charged pack or the regulator setting, not "
        "the nominal voltage",
        _DERIVED,
    ),
    Source(
        "P35",
        "physics: a linear regulator turns (input less output voltage) times current into heat; "
        "8.4 V to 6.0 V at 5 A is 12 W",
        _DERIVED,
    ),
    Source(
        "P36",
        "trade: continuous rating at least the sum of the moving currents, peak rating at least "
        "half the sum of the stall currents",
        _PRACTICE,
    ),
    Source(
        "P37",
        "trade: feeds are independent only with two leads and no shared connector",
        _PRACTICE,
    ),
    Source(
        "P38",
        "trade: a switch that fails must not open the supply; say what it does",
        _PRACTICE,
    ),
    Source(
        "P39",
        "trade: the worst voltage under load stays 0.5 V above the receiver's minimum",
        _PRACTICE,
    ),
    Source(
        "P40",
        "trade: a turbine's controller has a pack of its own, apart from the receivers'",
        _PRACTICE,
    ),
    Source(
        "P41",
        "trade: count on 0.8 of a pack's rated charge, 0.7 of an old one's",
        _PRACTICE,
    ),
    Source("C1", "battery seller's page: lithium polymer cell full at 4.20 V", _READ),
    Source(
        "C2",
        "trade: lithium polymer for control power warns at 3.3 to 3.5 V a cell under load",
        _PRACTICE,
    ),
    Source(
        "C4", "battery sellers' pages: lithium iron phosphate cell at most 3.6 to 3.65 V", _READ
    ),
    Source("C5", "trade: lithium iron phosphate stops at 2.8 V a cell", _PRACTICE),
    Source("C7", "trade: cobalt lithium-ion stops at 3.0 V a cell under load", _PRACTICE),
    Source("C8", "sealed-cell data sheet: NiMH cell about 1.45 V at the end of charge", _READ),
    Source("C9", "trade: NiMH warns at 1.1 V a cell under load", _PRACTICE),
    Source(
        "G3",
        "14 CFR 29.683, operation tests: a control system free from jamming, excessive friction "
        "and excessive deflection under load",
        _READ,
    ),
    Source(
        "G7",
        "EASA community note and a club checklist: a second pair of eyes checks the sense of every "
        "control after rigging",
        _SECOND,
    ),
    Source(
        "G8",
        "US accident of 2014, elevator rigged the wrong way: check controls free and correct, not "
        "just free",
        _SECOND,
    ),
    Source(
        "G9",
        "club checklists: no clash or bind at any combination of stick, trim and mix; a stalled "
        "servo buzzes",
        _SECOND,
    ),
    Source(
        "G15",
        "14 CFR 25.672(b) and 29.672(b): the pilot can override a stabiliser or switch it off",
        _READ,
    ),
    Source(
        "G17",
        "trade, following 14 CFR 25.672: a mode without gyro, trimmed first, proves that the "
        "aircraft flies without it",
        _PRACTICE,
    ),
    Source(
        "G21",
        "texts on flight mechanics disagree on signs of deflection: say trailing edge up or down, "
        "never plus or minus",
        _READ,
    ),
    Source(
        "G23",
        "rotation group of the cube: 24 of the 48 signed permutations are mountings, the other 24 "
        "are mirror images",
        _DERIVED,
    ),
    Source(
        "G24",
        "proof by the work rate of the correcting moment: the trailing edge follows the motion of "
        "the part that carries it",
        _DERIVED,
    ),
    Source("G25", "follow rule: rolled right by hand, right aileron down, left one up", _DERIVED),
    Source(
        "G26",
        "follow rule: nose up by hand, tail elevator down, canard up",
        _DERIVED,
    ),
    Source(
        "G27",
        "follow rule: nose right by hand, rudder left, steered nose wheel points left",
        _DERIVED,
    ),
    Source("G28", "geometry: a tilt couples the sine of its angle into other axes", _DERIVED),
    Source(
        "G30",
        "trade: teach the gyro again after any change of travel, centre or reversal",
        _PRACTICE,
    ),
    Source(
        "F22",
        "UK club procedure, before each flight: engine stopped, transmitter off, every control "
        "goes to its set position; on again, control is back in a few seconds; a slow return: do "
        "not fly",
        _SECOND,
    ),
    Source(
        "F24",
        "Australian notice: members are urged to test the failsafe with the engine running, the "
        "model restrained, where a power or signal distribution unit is fitted",
        _SECOND,
    ),
    Source(
        "R3",
        "UK club course: range check at 10 m, 30 ft or about 30 paces at least with the aerial "
        "collapsed, engine off first",
        _SECOND,
    ),
    Source(
        "R5",
        "trade: 30 paces in range-test mode, on all headings, or the radio handbook's own figure",
        _PRACTICE,
    ),
    Source(
        "R7",
        "UK AAIB record AAIB-27831: range check from several angles round the model (an example, "
        "not a rule)",
        _READ,
    ),
    Source(
        "R8",
        "trade: the range check again with the engine running; loss or judder that appears is "
        "electrical noise or vibration",
        _PRACTICE,
    ),
    Source(
        "R9",
        "UK achievement-scheme examiner list: check the surfaces for jitter at full power",
        _SECOND,
    ),
    Source(
        "R10",
        "model-flying forum: a crash at about 50 m with the radio left in range-test mode; full "
        "power is confirmed before take-off",
        _SECOND,
    ),
    Source(
        "R11",
        "trade: range check again after a new radio, a moved aerial, a hard landing or a repair, "
        "and at the first flight of the day",
        _PRACTICE,
    ),
    Source(
        "R14",
        "Australian procedure: the right model memory is confirmed before range and failsafe test",
        _SECOND,
    ),
    Source(
        "T1",
        "Canadian turbine guidelines, item 2: an extinguisher of a suitable type, not powder, "
        "within reach whenever the engine runs",
        _SECOND,
    ),
    Source(
        "T2",
        "German association standard rules 7.5.3: a turbine-suitable extinguisher in immediate "
        "reach and a conventional one ready (number inferred from the order)",
        _READ,
    ),
    Source(
        "T5",
        "Canadian turbine guidelines, item 11: an electric or manual valve able to stop the fuel",
        _SECOND,
    ),
    Source(
        "P21",
        "textbook on small unmanned aircraft: loss of power is a common cause of lost control; "
        "check charge and health of packs before each flight",
        _READ,
    ),
    Source(
        "part-e",
        "trade: the order of work when a large jet is re-equipped, step by step",
        _PRACTICE,
    ),
    Source("S1", "reference page on servo control: 1.5 ms at centre for standard servos", _READ),
    Source(
        "S2", "reference pages on servo control: 1.0 to 2.0 ms in full, makers vary slightly", _READ
    ),
    Source(
        "S3", "university page on servo theory: pulses from 0.3 to 2.5 ms have been seen", _READ
    ),
    Source(
        "S4",
        "reference page on servo control: a frame of 20 ms; many servos do not mind 40 to 200 Hz",
        _READ,
    ),
    Source(
        "S5",
        "trade: analogue servos take 50 to 60 Hz unless stated; that more upsets them was "
        "read on an electronics page",
        _PRACTICE,
    ),
    Source(
        "S6",
        "arithmetic: a frame must be longer than its longest pulse and a gap; 400 Hz leaves 2.2 ms",
        _DERIVED,
    ),
    Source("S7", "trade: servos made for 760 us at centre must not get 1520 us", _PRACTICE),
    Source(
        "S9",
        "connector guide: a 2.54 mm pin contact carries about 3 A; not rated for vibration",
        _READ,
    ),
    Source(
        "S10",
        "published specification of a 2.54 mm crimp contact, 30 K rise, one circuit live: 4.0 A on "
        "22 AWG, 3.75 on 24, 3.5 on 26, 3.0 on 28",
        _READ,
    ),
    Source(
        "S11",
        "two connector guides: about a fifth less for each doubling of live contacts",
        _READ,
    ),
    Source(
        "S12",
        "arithmetic from the contact ratings: at most 3 A all the time through one servo plug",
        _DERIVED,
    ),
    Source(
        "S15",
        "trade: a servo lead is ground, supply and signal; where power is split, a missing ground "
        "takes the reference of the signal away",
        _PRACTICE,
    ),
    Source(
        "N1",
        "university author on a list of radio amateurs: an aerial at an angle to the field "
        "takes cos^2 of its power",
        _READ,
    ),
    Source(
        "N2",
        "arithmetic from N1: 3.0 dB lost at 45 degrees, 6.0 at 60, 15.2 at 80",
        _DERIVED,
    ),
    Source(
        "N4",
        "geometry: two aerials at right angles lose 3 dB at worst in their plane, and are "
        "both blind to a field across it",
        _DERIVED,
    ),
    Source(
        "N5",
        "geometry: three aerials at right angles lose 4.8 dB at worst",
        _DERIVED,
    ),
    Source(
        "N6",
        "geometry and trade: two receivers cover three axes and both sides of the fuselage "
        "between them",
        _PRACTICE,
    ),
    Source(
        "N7",
        "club inspection list: aerials not crossed, shortened or run near metal, carbon fibre "
        "or long wires",
        _READ,
    ),
    Source(
        "N8",
        "club forum: an aerial inside carbon loses range; carry it right out of the shell",
        _SECOND,
    ),
    Source(
        "N9",
        "arithmetic: the wavelength at 2.4 GHz is 124.9 mm, a quarter of it 31.2 mm",
        _DERIVED,
    ),
    Source(
        "N10",
        "trade: 25 to 50 mm or more from metal, carbon, fuel, batteries and pump wires",
        _PRACTICE,
    ),
    Source(
        "N11",
        "trade: receivers 100 mm or more apart, not on one bulkhead bay",
        _PRACTICE,
    ),
    Source(
        "part-b",
        "table of the 24 mountings with the body rates each one makes a gyro feel",
        _DERIVED,
    ),
    Source(
        "T6",
        "US academy turbine document: two ways to shut the engine down, one by hand, one by radio",
        _SECOND,
    ),
    Source(
        "T7",
        "giant-scale association safety code: a spark or glow engine can be stopped by hand, "
        "without the radio, and from the transmitter",
        _SECOND,
    ),
    Source(
        "T10",
        "GTBA code, appendix 1: the pump battery's cells limit what a faulty controller can "
        "over-fuel, so that pack is chosen for the engine",
        _READ,
    ),
    Source(
        "table-11-3",
        "AC 43.13-1B Table 11-3: the greatest fuse for each wire gauge",
        _READ,
    ),
    Source(
        "table-11-9",
        "AC 43.13-1B Table 11-9: current of aircraft wire in bundles of 33 or more at 70 °C; rows "
        "of 24 to 4 AWG",
        _READ,
    ),
    Source(
        "thin-aerofoil",
        "Houghton & Carpenter, Aerodynamics for Engineering Students, section 4.5.1, after "
        "Glauert, R&M 1095: hinge moment of a flap in thin-aerofoil theory",
        _READ,
    ),
    Source(
        "linkage-statics",
        "plane statics of an arm, a pushrod and a horn, friction left out",
        _DERIVED,
    ),
    Source(
        "adiabatic",
        "IEC 60364-5-54 annex A: the current that heats a conductor to a temperature in a given "
        "time, no heat let go",
        _MEMORY,
    ),
    Source(
        "B1",
        "UK club course: the centre of gravity is checked with the tank empty, inside the "
        "designer's limits",
        _SECOND,
    ),
    Source(
        "B2",
        "an engineer's explanation: the centre of gravity is worked out at take-off and without "
        "fuel, so that it is inside at landing whatever was burnt",
        _SECOND,
    ),
    Source(
        "B3",
        "explanation for pilots: as fuel is burnt the centre of gravity moves away from the tank "
        "in use",
        _SECOND,
    ),
    Source("B4", "mechanics: at landing it is (m1 x1 - mf xf) / (m1 - mf)", _DERIVED),
    Source(
        "B5",
        "FAA-H-8083-1: checks of the loadings that bring the centre of gravity farthest forward "
        "and farthest aft",
        _READ,
    ),
    Source(
        "B6",
        "jet practice: balance is checked with main tanks empty, the header full, gear down and up",
        _PRACTICE,
    ),
    Source(
        "B7",
        "practice: after packs, receivers or units are moved there is a new record of the balance",
        _PRACTICE,
    ),
    Source(
        "moments",
        "FAA AC 43.13-1B ch. 10: moments over weights, extreme loadings, and ballast",
        _READ,
    ),
    Source(
        "uncertainty",
        "JCGM 100:2008: propagation of independent errors; twice the standard uncertainty is about "
        "95 %",
        _MEMORY,
    ),
    Source(
        "T17",
        "FAI Section 4 Volume ABR 1.2, as quoted: a model aircraft has at most 25 kg, with fuel",
        _SECOND,
    ),
    Source(
        "P7",
        "US academy Large Model program, 28 Oct 2017, Table 1.1: classes of 25 to 35 kg and 35 to "
        "56.7 kg (turbines to 45.4 kg), each with a permit to fly",
        _READ,
    ),
    Source(
        "P11",
        "Australian MAAA MOP015 section 6.1.2: from 25 kg dry an inspector from before building on",
        _SECOND,
    ),
    Source(
        "P14",
        "UK CAA AMC1 Article 16(1): above 25 kg design and construction are assessed, with a "
        "certificate, a flight-test programme and pilot competence",
        _READ,
    ),
    Source(
        "P15",
        "German MFSD 3.1.2 and NfL II 21/11 to 24/11: from 25 to 150 kg registration and proof of "
        "airworthiness, strength included",
        _READ,
    ),
    Source(
        "P26",
        "14 CFR 107.49(d): before flight there is enough energy for the intended time",
        _READ,
    ),
    Source(
        "R13",
        "notes on the EASA means of compliance for SORA OSO#06: the pilot can monitor the "
        "performance of the link all the time",
        _SECOND,
    ),
    Source(
        "T9",
        "MFSD 7.5.2 and DMFV part B: a turbine only with an electronic controller that limits "
        "rotor speed and exhaust temperature",
        _READ,
    ),
    Source(
        "C11",
        "cell data: iron phosphate and NiMH hold their voltage almost to the end, so that it tells "
        "little of what is left",
        _DERIVED,
    ),
    Source(
        "G1",
        "UK association handbook 13.1(j): servos are fixed, receivers and packs are protected",
        _READ,
    ),
    Source(
        "G31",
        "FAI safety rules for radio control, item 3 f: no radio without shock mounting where an "
        "engine vibrates",
        _READ,
    ),
    Source(
        "ac43-slack",
        "FAA AC 43.13-1B, paragraph 11-118: wires are supported, with slack for two new "
        "terminations",
        _READ,
    ),
    Source(
        "ac43-grommet",
        "FAA AC 43.13-1B, paragraph 11-115: a grommet where wires pass an edge, and 3/8 in of "
        "clearance where they cannot be clamped",
        _READ,
    ),
    Source(
        "bend-radius",
        "US Army TM 1-1500-204-23-4, paragraph (27): the radius of a bend is 10 times the outside "
        "diameter or more",
        _READ,
    ),
    Source(
        "bend-supported",
        "aircraft wiring practice: 3 times the outside diameter where the wire is held on both "
        "sides of the bend",
        _MEMORY,
    ),
)

SOURCES: Final = {source.id: source for source in _ALL}
