insert into ledger.delivery (no, run_no, source_no, manifest, sequence, month_from, month_to, coverage, mode, privacy,
    agreement, synthetic, extracted_at, outcome, generation, refused_rule, refused_place, refused_message)
values (:no, :run_no, :source_no, :manifest, :sequence, :month_from, :month_to, :coverage, :mode, :privacy,
    :agreement, :synthetic, :extracted_at, :outcome, :generation, :refused_rule, :refused_place, :refused_message);
