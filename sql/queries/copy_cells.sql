copy measure.cell (unit_no, month, measure, band, outside, eligibility_unknown, excluded, exceptions, unknown, undecided,
    not_met, met, presumed, item_order, item_low, item_high, item_end, births, definition, derivation, generation) from stdin
