"""The calculator: pure functions, records in and records out.

No I/O, no clock, no randomness, no logging, no globals. It reads in the order the work flows: envelope, layout,
cutting, takeoff, packs, labour, pricing, with pressure beside it; plan.py walks the whole way. Lengths are whole
millimetres, money is Decimal. What prints or stores belongs elsewhere.
"""
