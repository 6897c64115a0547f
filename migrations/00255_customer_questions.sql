-- What customers ask by their private link, and what they are answered.

-- +goose Up
CREATE TABLE customer_question (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id   bigint NOT NULL REFERENCES docket,
    link_id     bigint NOT NULL REFERENCES customer_link,
    words       text NOT NULL CHECK (words <> ''),
    asked_at    timestamptz NOT NULL,
    answer      text CHECK (answer <> ''),
    answered_at timestamptz,
    answered_by bigint REFERENCES staff,
    CHECK ((answer IS NULL) = (answered_at IS NULL) AND (answer IS NULL) = (answered_by IS NULL))
);
COMMENT ON TABLE customer_question IS 'a question by the private link; its words are never changed, and its answer is written once';
COMMENT ON COLUMN customer_question.answer IS 'as the customer reads it on their page; null while it waits';
CREATE INDEX customer_question_docket_idx ON customer_question (docket_id, id);
CREATE INDEX customer_question_open_idx ON customer_question (docket_id) WHERE answer IS NULL;
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON customer_question FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

-- +goose Down
DROP TABLE customer_question;
