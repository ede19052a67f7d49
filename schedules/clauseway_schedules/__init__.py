"""Door schedules: sheets of doors into descriptions of openings, and answers back into the sheets."""
