-- The whole record of a calibre: train and motion work, barrel and mainspring, hairspring, jewels, oils, drawings; who
-- corrected it when, and from what to what.

-- +goose Up
ALTER TABLE calibre
    ADD COLUMN movement_diameter_mm          double precision CHECK (movement_diameter_mm > 0),
    ADD COLUMN jewels                        smallint CHECK (jewels > 0),
    ADD COLUMN jewel_places                  text NOT NULL DEFAULT '',
    ADD COLUMN train                         text NOT NULL DEFAULT '',
    ADD COLUMN motion_work                   text NOT NULL DEFAULT '',
    ADD COLUMN dial_hours                    smallint CHECK (dial_hours IN (12, 24)),
    ADD COLUMN barrel_teeth                  smallint CHECK (barrel_teeth > 0),
    ADD COLUMN centre_pinion_leaves          smallint CHECK (centre_pinion_leaves > 0),
    ADD COLUMN barrel_inside_diameter_mm     double precision CHECK (barrel_inside_diameter_mm > 0),
    ADD COLUMN arbor_diameter_mm             double precision CHECK (arbor_diameter_mm > 0),
    ADD COLUMN mainspring_width_mm           double precision CHECK (mainspring_width_mm > 0),
    ADD COLUMN mainspring_thickness_mm       double precision CHECK (mainspring_thickness_mm > 0),
    ADD COLUMN mainspring_length_mm          double precision CHECK (mainspring_length_mm > 0),
    ADD COLUMN balance_mass_mg               double precision CHECK (balance_mass_mg > 0),
    ADD COLUMN balance_gyration_radius_mm    double precision CHECK (balance_gyration_radius_mm > 0),
    ADD COLUMN hairspring_stiffness_nm_rad   double precision CHECK (hairspring_stiffness_nm_rad > 0),
    ADD COLUMN hairspring_width_mm           double precision CHECK (hairspring_width_mm > 0),
    ADD COLUMN hairspring_thickness_mm       double precision CHECK (hairspring_thickness_mm > 0),
    ADD COLUMN hairspring_length_mm          double precision CHECK (hairspring_length_mm > 0),
    ADD COLUMN lubrication                   jsonb CHECK (jsonb_typeof(lubrication) = 'array');
COMMENT ON COLUMN calibre.movement_diameter_mm IS 'of the movement where it sits in its case, mm';
COMMENT ON COLUMN calibre.jewel_places IS 'where the jewels sit, in words';
COMMENT ON COLUMN calibre.train IS 'wheel counts as 80:10,75:10,80:8,15, with words for the hands'' layout';
COMMENT ON COLUMN calibre.motion_work IS 'cannon pinion:minute wheel,minute pinion:hour wheel';
COMMENT ON COLUMN calibre.dial_hours IS 'hours in a turn of the hour hand; null is 12';
COMMENT ON COLUMN calibre.centre_pinion_leaves IS 'of the pinion that the barrel drives';
COMMENT ON COLUMN calibre.barrel_inside_diameter_mm IS 'mm';
COMMENT ON COLUMN calibre.arbor_diameter_mm IS 'of the core on which the mainspring winds, mm';
COMMENT ON COLUMN calibre.mainspring_width_mm IS 'mm';
COMMENT ON COLUMN calibre.mainspring_thickness_mm IS 'mm';
COMMENT ON COLUMN calibre.mainspring_length_mm IS 'mm';
COMMENT ON COLUMN calibre.balance_mass_mg IS 'of the whole balance, mg';
COMMENT ON COLUMN calibre.balance_gyration_radius_mm IS 'where the mass would sit to have the moment of inertia, mm';
COMMENT ON COLUMN calibre.hairspring_stiffness_nm_rad IS 'newton-metres for a radian';
COMMENT ON COLUMN calibre.hairspring_width_mm IS 'mm';
COMMENT ON COLUMN calibre.hairspring_thickness_mm IS 'mm';
COMMENT ON COLUMN calibre.hairspring_length_mm IS 'active, from collet to stud or regulator pins, mm';
COMMENT ON COLUMN calibre.lubrication IS 'places with oil and note, in order';

CREATE TABLE calibre_change (
    calibre_id bigint NOT NULL REFERENCES calibre,
    version    integer NOT NULL CHECK (version > 0),
    at         timestamptz NOT NULL,
    by_id      bigint REFERENCES staff,
    by_name    text NOT NULL DEFAULT '',
    why        text NOT NULL DEFAULT '',
    docket_id  bigint REFERENCES docket,
    changes    jsonb NOT NULL CHECK (jsonb_typeof(changes) = 'array'),
    PRIMARY KEY (calibre_id, version)
);
COMMENT ON TABLE calibre_change IS 'each saved state of a calibre: what it changed, in the form''s own words; by_id is null where the program did it';
COMMENT ON COLUMN calibre_change.version IS 'that the calibre then had';
COMMENT ON COLUMN calibre_change.docket_id IS 'the work in which the correction was found';
-- +goose StatementBegin
CREATE FUNCTION calibre_change_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the history of a calibre is append-only' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER calibre_change_no_change BEFORE UPDATE OR DELETE ON calibre_change
    FOR EACH ROW EXECUTE FUNCTION calibre_change_append_only();

CREATE TABLE calibre_drawing (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    calibre_id bigint NOT NULL REFERENCES calibre,
    caption    text NOT NULL,
    sha256     bytea NOT NULL CHECK (length(sha256) = 32),
    width      integer NOT NULL CHECK (width > 0),
    height     integer NOT NULL CHECK (height > 0),
    bytes      integer NOT NULL CHECK (bytes > 0),
    added_by   bigint NOT NULL REFERENCES staff,
    added_at   timestamptz NOT NULL,
    struck_by  bigint REFERENCES staff,
    struck_at  timestamptz
);
COMMENT ON COLUMN calibre_drawing.sha256 IS 'of the stored picture; names its files in the uploads folder';
COMMENT ON COLUMN calibre_drawing.struck_at IS 'taken off the page; the row stays';
CREATE INDEX calibre_drawing_calibre_idx ON calibre_drawing (calibre_id, id) WHERE struck_at IS NULL;

-- +goose Down
DROP TABLE calibre_drawing;
DROP TABLE calibre_change;
DROP FUNCTION calibre_change_append_only;
ALTER TABLE calibre
    DROP COLUMN movement_diameter_mm, DROP COLUMN jewels, DROP COLUMN jewel_places, DROP COLUMN train, DROP COLUMN motion_work,
    DROP COLUMN dial_hours, DROP COLUMN barrel_teeth, DROP COLUMN centre_pinion_leaves, DROP COLUMN barrel_inside_diameter_mm,
    DROP COLUMN arbor_diameter_mm, DROP COLUMN mainspring_width_mm, DROP COLUMN mainspring_thickness_mm,
    DROP COLUMN mainspring_length_mm, DROP COLUMN balance_mass_mg, DROP COLUMN balance_gyration_radius_mm,
    DROP COLUMN hairspring_stiffness_nm_rad, DROP COLUMN hairspring_width_mm, DROP COLUMN hairspring_thickness_mm,
    DROP COLUMN hairspring_length_mm, DROP COLUMN lubrication;
