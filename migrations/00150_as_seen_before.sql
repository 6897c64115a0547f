-- What the condition sheet and a part said before each change, so that what somebody saw when a form was opened can be
-- told from what others changed meanwhile. Of changes before this there is nothing to keep: no form is that old.

-- +goose Up
CREATE TABLE condition_earlier (
    docket_id bigint NOT NULL REFERENCES docket,
    until_seq bigint NOT NULL CHECK (until_seq >= 1),
    clear     text[] NOT NULL,
    marks     jsonb NOT NULL CHECK (jsonb_typeof(marks) = 'array'),
    PRIMARY KEY (docket_id, until_seq)
);
COMMENT ON TABLE condition_earlier IS 'the condition sheet as it stood before the journal''s entry until_seq changed it';
COMMENT ON COLUMN condition_earlier.marks IS 'part, kind, x, y and note of each, as in condition_mark';

CREATE TABLE part_line_earlier (
    part_id     bigint NOT NULL REFERENCES part_line,
    until_seq   bigint NOT NULL CHECK (until_seq >= 1),
    description text NOT NULL,
    reference   text NOT NULL,
    supplier    text NOT NULL,
    quantity    integer NOT NULL,
    state       text NOT NULL,
    old_part    text NOT NULL,
    note        text NOT NULL,
    state_at    timestamptz NOT NULL,
    PRIMARY KEY (part_id, until_seq)
);
COMMENT ON TABLE part_line_earlier IS 'a part as it stood before the journal''s entry until_seq of its docket changed it';

-- +goose Down
DROP TABLE part_line_earlier;
DROP TABLE condition_earlier;
