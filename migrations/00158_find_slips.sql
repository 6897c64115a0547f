-- Words of customers and watches by what is left of them when one letter is left out: two words that are one slip apart
-- have such a rest in common. Plain SQL, since a server's extensions may be out of reach of the program.

-- +goose Up
CREATE TABLE find_slip (
    slip text COLLATE "C" NOT NULL,
    word text COLLATE "C" NOT NULL,
    PRIMARY KEY (slip, word)
);
COMMENT ON TABLE find_slip IS 'words of four letters to twenty-four of customer_word and watch_word, kept by triggers';
COMMENT ON COLUMN find_slip.slip IS 'the word itself, or the word without one of its letters';

-- +goose StatementBegin
CREATE FUNCTION slips_of(word text) RETURNS SETOF text LANGUAGE sql IMMUTABLE AS $$
    SELECT word WHERE length(word) BETWEEN 4 AND 24
    UNION
    SELECT left(word, i - 1) || substr(word, i + 1) FROM generate_series(1, length(word)) AS i
        WHERE length(word) BETWEEN 4 AND 24
    ORDER BY 1
$$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION slips_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'INSERT' THEN
        IF NOT EXISTS (SELECT FROM find_slip WHERE slip = NEW.word AND word = NEW.word) THEN
            INSERT INTO find_slip (slip, word) SELECT s, NEW.word FROM slips_of(NEW.word) AS s ON CONFLICT DO NOTHING;
        END IF;
    ELSIF NOT EXISTS (SELECT FROM customer_word WHERE word = OLD.word)
        AND NOT EXISTS (SELECT FROM watch_word WHERE word = OLD.word) THEN
        DELETE FROM find_slip WHERE slip IN (SELECT slips_of(OLD.word)) AND word = OLD.word;
    END IF;
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER slips_kept AFTER INSERT OR DELETE ON customer_word FOR EACH ROW EXECUTE FUNCTION slips_kept();
CREATE TRIGGER slips_kept AFTER INSERT OR DELETE ON watch_word FOR EACH ROW EXECUTE FUNCTION slips_kept();

INSERT INTO find_slip (slip, word)
    SELECT s, w.word FROM (SELECT word FROM customer_word UNION SELECT word FROM watch_word) AS w, slips_of(w.word) AS s
    ON CONFLICT DO NOTHING;

-- +goose Down
DROP TRIGGER slips_kept ON watch_word;
DROP TRIGGER slips_kept ON customer_word;
DROP FUNCTION slips_kept;
DROP FUNCTION slips_of;
DROP TABLE find_slip;
