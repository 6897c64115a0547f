-- What lets a charge go above what the customer allowed. For charges set until now nothing was asked, and nothing is said.

-- +goose Up
ALTER TABLE docket
    ADD COLUMN charged_word    text NOT NULL DEFAULT '' CHECK (charged_word IN ('', 'in-person', 'telephone', 'letter', 'owner')),
    ADD COLUMN charged_word_on date,
    ADD COLUMN charged_word_by text NOT NULL DEFAULT '';
COMMENT ON COLUMN docket.charged_word IS 'how the customer agreed to a charge above what was allowed, or that the owner decided';
COMMENT ON COLUMN docket.charged_word_on IS 'day on which the customer said so';
COMMENT ON COLUMN docket.charged_word_by IS 'who took the customer''s word, or which owner decided';

-- +goose Down
ALTER TABLE docket DROP COLUMN charged_word, DROP COLUMN charged_word_on, DROP COLUMN charged_word_by;
