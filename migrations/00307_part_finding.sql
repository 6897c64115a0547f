-- +goose Up
-- Parts of the catalogue are found by words and by what is short, on indexes.

CREATE TABLE part_word (
    word    text COLLATE "C" NOT NULL,
    part_id bigint NOT NULL REFERENCES part ON DELETE CASCADE,
    PRIMARY KEY (word, part_id)
);
COMMENT ON TABLE part_word IS 'every ending, of two letters or more, of the words by which a part is found, so that a beginning of one is whatever stands in a word; kept by triggers';
CREATE INDEX part_word_part_idx ON part_word (part_id, word);

-- +goose StatementBegin
CREATE FUNCTION part_words_again(id bigint) RETURNS void LANGUAGE sql AS $$
    DELETE FROM part_word WHERE part_id = $1;
    INSERT INTO part_word (word, part_id) SELECT DISTINCT substr(w, i), $1
        FROM part p, regexp_split_to_table(lower(concat_ws(' ', p.number, p.name, p.fits, p.drawer,
            (SELECT string_agg(o.number, ' ') FROM part_source o WHERE o.part_id = $1))), '\s+') w, generate_series(1, greatest(length(w) - 1, 1)) i
        WHERE p.id = $1 AND w <> '';
$$;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE FUNCTION part_words_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_TABLE_NAME = 'part' THEN
        PERFORM part_words_again(NEW.id);
    ELSIF TG_OP = 'DELETE' THEN
        PERFORM part_words_again(OLD.part_id);
    ELSE
        PERFORM part_words_again(NEW.part_id);
    END IF;
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER part_words_kept AFTER INSERT OR UPDATE OF number, name, fits, drawer ON part FOR EACH ROW EXECUTE FUNCTION part_words_kept();
CREATE TRIGGER part_words_kept AFTER INSERT OR UPDATE OR DELETE ON part_source FOR EACH ROW EXECUTE FUNCTION part_words_kept();
SELECT part_words_again(id) FROM part;

ALTER TABLE stock ADD COLUMN reorder_at integer;
COMMENT ON COLUMN stock.reorder_at IS 'as of part, null where it is offered no longer; kept by a trigger';
-- +goose StatementBegin
CREATE FUNCTION part_reorder_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_TABLE_NAME = 'part' THEN
        UPDATE stock SET reorder_at = CASE WHEN NEW.ended_at IS NULL THEN NEW.reorder_at END WHERE part_id = NEW.id;
        RETURN NULL;
    END IF;
    NEW.reorder_at = (SELECT p.reorder_at FROM part p WHERE p.id = NEW.part_id AND p.ended_at IS NULL);
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER part_reorder_kept AFTER UPDATE OF reorder_at, ended_at ON part FOR EACH ROW EXECUTE FUNCTION part_reorder_kept();
CREATE TRIGGER part_reorder_kept BEFORE INSERT ON stock FOR EACH ROW EXECUTE FUNCTION part_reorder_kept();
UPDATE stock s SET reorder_at = p.reorder_at FROM part p WHERE p.id = s.part_id AND p.ended_at IS NULL;
CREATE INDEX stock_short_idx ON stock (part_id) WHERE on_hand - reserved <= reorder_at;

-- +goose Down
DROP INDEX stock_short_idx;
DROP TRIGGER part_reorder_kept ON stock;
DROP TRIGGER part_reorder_kept ON part;
DROP FUNCTION part_reorder_kept;
ALTER TABLE stock DROP COLUMN reorder_at;
DROP TRIGGER part_words_kept ON part_source;
DROP TRIGGER part_words_kept ON part;
DROP FUNCTION part_words_kept;
DROP FUNCTION part_words_again;
DROP TABLE part_word;
