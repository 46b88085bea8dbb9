/** @file
 * The C interface: a plate on a machine, its account as JSON, single values and columns of numbers.
 *
 * Keys and units are those of docs/json.md; quantities carry their unit in the key. Texts are UTF-8.
 * Nothing here writes to a terminal or ends the program. Functions may be called from several
 * threads at once, each with accounts of its own; one account may be read by several.
 *
 * A function that can fail takes `error`: NULL, or where to put one line that says why, to be freed
 * with platetally_free_text(); on success it is set to NULL. */
#ifndef PLATETALLY_PLATETALLY_H
#define PLATETALLY_PLATETALLY_H

#include <stddef.h>

#if defined(__GNUC__)
#define PLATETALLY_API __attribute__((visibility("default")))
#else
#define PLATETALLY_API
#endif

#ifdef __cplusplus
extern "C" {
#endif

/** What one plate costs. Opaque; freed with platetally_free_account(). */
typedef struct platetally_account platetally_account;

/** What may be asked for besides plate and machine. Begin with all zeros: new members will come at
 *  the end and mean nothing while they are zero. */
typedef struct platetally_options {
  size_t size;                /**< sizeof(platetally_options), so that either side may be older */
  const char* materials;      /**< a materials file; NULL: the embedded ones */
  const char* prices;         /**< a prices file; NULL: no money in the account */
  const char* member;         /**< of a zip with several plates; NULL: the only one */
  const char* const* colours; /**< by tool number, NULL or "" where none; NULL: the machine's */
  size_t colour_count;        /**< entries of `colours` */
  int copies;                 /**< good parts on the plate; 0: 1 */
  int threads;                /**< 1 or 2; 0: 2. The account is the same */
  int partial;                /**< 1: also of a plate of which only a part can be read; see the
                                   section "reading" of its account */
  int objects;                /**< 1: the section "objects" has rows */
} platetally_options;

/** "0.1.0". Never freed. */
PLATETALLY_API const char* platetally_version(void);

/** Tallies the plate at `path` (G-code, alone or packed) on `machine`, an embedded machine's name or
 *  a machine file. `options` may be NULL. NULL on failure: no such file, no plate in it, several
 *  plates without options->member, a fault in machine, materials or prices. */
PLATETALLY_API platetally_account* platetally_tally(const char* path, const char* machine,
                                                    const platetally_options* options,
                                                    char** error);

/** The same for `size` bytes in memory. options->member must be NULL. */
PLATETALLY_API platetally_account* platetally_tally_bytes(const char* bytes, size_t size,
                                                          const char* machine,
                                                          const platetally_options* options,
                                                          char** error);

/** NULL is allowed. */
PLATETALLY_API void platetally_free_account(platetally_account* account);
/** For every text that was handed out to be freed. NULL is allowed. */
PLATETALLY_API void platetally_free_text(char* text);

/** All of the account, schema "platetally.tally/1". To be freed; NULL only without memory. */
PLATETALLY_API char* platetally_json(const platetally_account* account);
/** The report for people, 100 columns wide, without colour. To be freed; NULL only without memory. */
PLATETALLY_API char* platetally_text(const platetally_account* account);

/** One value by key ("totals.energy_wh", "tools.1.purge_g", "machine.name") as the JSON shows it,
 *  texts without quotes. To be freed; NULL where the key is unknown or the plate has no such row. */
PLATETALLY_API char* platetally_value(const platetally_account* account, const char* key);

/** The same as a number. Returns 1, or 0 where there is none or it is not known; then `number` is
 *  left alone. */
PLATETALLY_API int platetally_number(const platetally_account* account, const char* key,
                                     double* number);

/** How many rows "layers", "tools", "swap_pairs", "bed_zones", ... has; 0 for an unknown name. */
PLATETALLY_API size_t platetally_rows(const platetally_account* account, const char* section);

/** One number of every row: "layers.purge_g", "layers.time_by.print", "tools.part_g". At most `room`
 *  of them are put into `numbers`, NaN where not known. Returns how many rows there are, or 0 for a
 *  key that is no column of numbers. */
PLATETALLY_API size_t platetally_column(const platetally_account* account, const char* key,
                                        double* numbers, size_t room);

/** Every value that an account can hold: a JSON array of objects with "key", "unit", "title", "note".
 *  To be freed; NULL only without memory. */
PLATETALLY_API char* platetally_fields(void);

/** JSON Schema (2020-12) of platetally_json(). To be freed; NULL only without memory. */
PLATETALLY_API char* platetally_schema(void);

/** The names of the embedded machines: a JSON array. To be freed; NULL only without memory. */
PLATETALLY_API char* platetally_machines(void);

/** What a history (of `platetally audit --history`) holds since `since`, "2026-11-25" or the same
 *  with THH:MM:SS in UTC: plates, sums, weeks, as JSON, schema "platetally.audit/1". To be freed;
 *  NULL on failure. */
PLATETALLY_API char* platetally_history(const char* file, const char* since, char** error);

#ifdef __cplusplus
}
#endif

#endif
