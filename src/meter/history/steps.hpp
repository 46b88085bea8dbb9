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
};

}  // namespace platetally::history
