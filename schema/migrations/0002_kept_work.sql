-- Work promised for a day in the workshop. `part` is blank where the work is about the whole unit; `due_on` is the last
-- day in date as it was when the promise was made. What refers to a part or a person that is gone is simply not asked for.
CREATE TABLE kept_work (
    unit TEXT NOT NULL REFERENCES units,
    part TEXT NOT NULL,
    rule TEXT NOT NULL,
    on_day TEXT NOT NULL CHECK (length(on_day) = 10),
    set_up_by TEXT NOT NULL,
    by_person TEXT NOT NULL,
    due_on TEXT CHECK (length(due_on) = 10),
    seq INTEGER NOT NULL,
    PRIMARY KEY (unit, part, rule)
) STRICT, WITHOUT ROWID;
