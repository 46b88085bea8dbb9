// The schema of a history, step by step. docs/history.md describes what results for whoever asks it
// with SQL.
#pragma once

namespace platetally::history {

/// Each brings a file from one schema to the next; never change one that was released.
inline constexpr const char* kSteps[] = {
    // Paths are bytes: they need not be UTF-8.
    "CREATE TABLE files(path BLOB PRIMARY KEY, size_bytes INTEGER NOT NULL,"
    " modified_ns INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;"
    "CREATE TABLE tallies(content TEXT NOT NULL, setting TEXT NOT NULL, path BLOB NOT NULL,"
    " first_s INTEGER NOT NULL, last_s INTEGER NOT NULL, records TEXT NOT NULL,"
    " PRIMARY KEY(content, setting)) WITHOUT ROWID;",
    "CREATE INDEX tallies_by_first ON tallies(first_s);"
    "CREATE TABLE measured(content TEXT NOT NULL, key TEXT NOT NULL, measured_s INTEGER NOT NULL,"
    " predicted REAL, measured REAL NOT NULL, origin TEXT NOT NULL,"
    " PRIMARY KEY(content, key, measured_s)) WITHOUT ROWID;",
    // What a setting's hash stands for. Of older ones the records say the machine; version and
    // options are not known. A measurement was of some machine, too.
    "CREATE TABLE settings(setting TEXT PRIMARY KEY, machine TEXT, machine_hash TEXT,"
    " version TEXT, options TEXT) WITHOUT ROWID;"
    "INSERT INTO settings SELECT setting,"
    " max(CASE WHEN json_valid(record) THEN json_extract(record, '$.machine') END),"
    " max(CASE WHEN json_valid(record) THEN json_extract(record, '$.machine_hash') END), NULL, NULL"
    " FROM (SELECT setting, substr(records, 1, instr(records, char(10)) - 1) AS record FROM "
    "tallies)"
    " GROUP BY setting;"
    "CREATE TABLE measurements(content TEXT NOT NULL, machine TEXT, machine_hash TEXT,"
    " version TEXT, options TEXT, key TEXT NOT NULL, measured_s INTEGER NOT NULL, predicted REAL,"
    " measured REAL NOT NULL, origin TEXT NOT NULL,"
    " UNIQUE(content, machine_hash, version, options, key, measured_s));"
    "INSERT INTO measurements SELECT content, NULL, NULL, NULL, NULL, key, measured_s, predicted,"
    " measured, origin FROM measured;"
    "DROP TABLE measured;",
    // Prints, with the figures of the whole plate as they were predicted when it was logged; and
    // views for people, with what they are to know in units and words.
    "CREATE TABLE prints(content TEXT NOT NULL, member TEXT NOT NULL, machine TEXT NOT NULL,"
    " unit TEXT NOT NULL, finished_s INTEGER NOT NULL, origin TEXT NOT NULL, path BLOB NOT NULL,"
    " machine_hash TEXT, version TEXT, options TEXT, logged_s INTEGER NOT NULL,"
    " failed INTEGER NOT NULL, share_used REAL NOT NULL, good_parts INTEGER, time_s REAL,"
    " swaps REAL, part_g REAL, purge_g REAL, energy_wh REAL, cost REAL, currency TEXT,"
    " PRIMARY KEY(content, member, machine, unit, finished_s, origin)) WITHOUT ROWID;"
    "CREATE INDEX prints_by_end ON prints(finished_s);"
    "CREATE VIEW v_prints AS SELECT cast(path AS TEXT) AS plate, nullif(member, '') AS member,"
    " machine, nullif(unit, '') AS unit,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', finished_s, 'unixepoch') AS finished_utc,"
    " date(finished_s, 'unixepoch', 'weekday 0', '-6 days') AS week_from, failed, share_used,"
    " good_parts, share_used * time_s AS time_s, share_used * swaps AS swaps,"
    " share_used * part_g AS part_g, share_used * purge_g AS purge_g,"
    " share_used * energy_wh AS energy_wh, share_used * cost AS cost, currency, origin,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', logged_s, 'unixepoch') AS logged_utc, content, machine_hash,"
    " version, nullif(options, '') AS options FROM prints;"
    "CREATE VIEW v_tallies AS SELECT cast(tallies.path AS TEXT) AS plate,"
    " nullif(json_extract(record.value, '$.member'), '') AS member, machine, version,"
    " nullif(options, '') AS options,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', first_s, 'unixepoch') AS first_tallied_utc,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', last_s, 'unixepoch') AS last_tallied_utc,"
    " json_extract(record.value, '$.verdict') AS verdict,"
    " json_extract(record.value, '$.values.\"totals.time_s\"') AS time_s,"
    " json_extract(record.value, '$.values.\"totals.swaps\"') AS swaps,"
    " json_extract(record.value, '$.values.\"totals.part_g\"') AS part_g,"
    " json_extract(record.value, '$.values.\"totals.purge_g\"') AS purge_g,"
    " json_extract(record.value, '$.values.\"totals.energy_wh\"') AS energy_wh,"
    " json_extract(record.value, '$.values.\"totals.cost\"') AS cost,"
    " nullif(json_extract(record.value, '$.currency'), '') AS currency, content, machine_hash"
    " FROM tallies LEFT JOIN settings USING(setting),"
    " json_each('[' || replace(rtrim(records, char(10)), char(10), ',') || ']') AS record;"
    "CREATE VIEW v_errors AS SELECT (SELECT cast(path AS TEXT) FROM tallies WHERE"
    " tallies.content = measurements.content ORDER BY last_s DESC LIMIT 1) AS plate, machine, key,"
    " predicted, measured, measured / nullif(predicted, 0) - 1 AS off_by,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', measured_s, 'unixepoch') AS measured_utc, origin, content,"
    " machine_hash, version, nullif(options, '') AS options FROM measurements;",
};

}  // namespace platetally::history
