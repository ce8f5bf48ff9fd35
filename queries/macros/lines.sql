-- Which movements count, and by which words a line is named.

-- chosen_movements(every): the movements that count in statistics and are not known to lack
-- parts; with every = true all that were read.
CREATE MACRO chosen_movements(every) AS TABLE
SELECT *
FROM movements
WHERE state = 'read' AND (every OR (counts AND scoring_complete <> 'no'));

-- named_lines(): the lines, each with the words that name it (key of the instrument, generic key,
-- subfamily, family, ensemble), with `bare_name`, the generic key that stands for its sizes and
-- keys (clarinet for clarinet-a) or else its own, and with `in_continuo`: it plays the bass of a
-- movement with a continuo.
CREATE MACRO named_lines() AS TABLE
SELECT
    *,
    [instrument, generic_key, subfamily, family, ensemble] AS words,
    coalesce(generic_key, instrument) AS bare_name,
    coalesce(list_contains((
        SELECT string_split(value, ', ') FROM settings WHERE name = 'continuo_players'
    ), instrument), false)
        AND bool_or(coalesce(instrument = 'continuo', false)) OVER (PARTITION BY movement_key)
        AS in_continuo
FROM lines
LEFT JOIN (
    SELECT sized.key AS instrument, max(general.key) AS generic_key
    FROM instruments AS sized
    JOIN instruments AS general
        ON general.generic AND starts_with(sized.key, general.key || '-')
    GROUP BY sized.key
) USING (instrument);

-- stratum(a, b): of two rows of named_lines(): lines of one instrument, and continuo with its
-- doublers, double each other as a matter of course and are no findings.
CREATE MACRO stratum(a, b) AS
CASE
    WHEN a.in_continuo AND b.in_continuo THEN 'continuo and its doublers'
    WHEN a.bare_name = b.bare_name THEN 'one instrument'
    ELSE 'different instruments'
END;

-- bars_as_text(first, last): bars as printed, for reading.
CREATE MACRO bars_as_text(first_bar, last_bar) AS
CASE WHEN first_bar = last_bar THEN first_bar ELSE first_bar || '–' || last_bar END;

-- is_wind(family, instrument, winds): whether an instrument is among the winds: all, woodwind, or
-- woodwind_horn.
CREATE MACRO is_wind(family, instrument, winds) AS
    family = 'woodwind'
    OR family = 'brass' AND (
        winds = 'all'
        OR winds = 'woodwind_horn' AND instrument IN (
            SELECT key FROM instruments WHERE subfamily = 'horns'
        )
    );

-- bands_in_force(): the bands of registers that the notes of this store are told by.
CREATE MACRO bands_in_force() AS TABLE
SELECT register_bands.*
FROM register_bands
SEMI JOIN (
    SELECT key, coalesce(max(scheme) FILTER (scheme = value), max(scheme) FILTER (is_default)) AS scheme
    FROM register_bands, (SELECT value FROM settings WHERE name = 'register_scheme')
    GROUP BY key
) USING (key, scheme);
