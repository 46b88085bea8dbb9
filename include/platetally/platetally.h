/** @file
 * The C interface: a plate on a machine, its account as JSON, single values and columns of numbers.
 *
 * Keys and units are those of docs/json.md; quantities carry their unit in the key. Texts are UTF-8.
 * Nothing here writes to a terminal or ends the program. Functions may be called from several
 * threads at once, each with accounts of its own; one account may be read by several.
 *
 * A function that can fail takes `error`: NULL, or where to put one line that says why, to be freed
 * with platetally_free_text(); on success it is set to NULL. NULL for anything else that is needed is
 * such a failure; of functions without `error` the answer is then NULL or 0, and freeing NULL does
 * nothing. */
#ifndef PLATETALLY_PLATETALLY_H
#define PLATETALLY_PLATETALLY_H

#include <stddef.h>

#include "platetally/version.h"

/** @cond of no use to callers */
#if defined(__GNUC__)
#define PLATETALLY_API __attribute__((visibility("default")))
#else
#define PLATETALLY_API
#endif
/** @endcond */

#ifdef __cplusplus
extern "C" {
#endif

/** What one plate costs. Opaque; freed with platetally_free_account(). */
typedef struct platetally_account platetally_account;

/** A plate that is handed over in pieces. Opaque; ended by platetally_finish() or
 *  platetally_drop(). */
typedef struct platetally_feed platetally_feed;

/** Told now and then, and not necessarily at the end, how many bytes were read (of an audit: of
 *  files that are done); from a thread of the library's own, one at a time. Anything but 0 cancels:
 *  the function that was called fails with "cancelled". */
typedef int (*platetally_progress)(void* user, unsigned long long bytes);

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
  platetally_progress progress; /**< NULL: none */
  void* progress_user;          /**< handed to `progress` */
  int objects;                  /**< 1: the section "objects" has rows */
} platetally_options;

/** What the best order is to be best in, and what it must keep to. Begin with all zeros. */
typedef struct platetally_order_options {
  size_t size;            /**< sizeof(platetally_order_options) */
  const char* by;         /**< "grams", "seconds", "money" (with prices) or "swaps"; NULL: grams where it
                               is known what changes need, else swaps */
  const char* heads;      /**< "ascending", "alternating" or "cyclic": the order in which the machine
                               goes through its heads; NULL: it is free */
  const int* first;       /**< tool in hand before the plate; NULL: not known */
  const int* kept;        /**< tool wanted in hand behind it; NULL: any */
  const int* before;      /**< pairs of tools, the first before the second in every layer with both */
  size_t before_count;    /**< pairs in `before` */
} platetally_order_options;

/** What an audit looks at, counts and keeps. Begin with all zeros. */
typedef struct platetally_audit_options {
  size_t size;                /**< sizeof(platetally_audit_options) */
  const char* const* include; /**< shell patterns; NULL: the usual endings of G-code, .zip */
  size_t include_count;       /**< entries of `include` */
  const char* const* exclude; /**< shell patterns; they win */
  size_t exclude_count;       /**< entries of `exclude` */
  const char* const* limits;  /**< keys of numbers that have a highest value */
  const double* highest;      /**< by entry of `limits` */
  size_t limit_count;         /**< entries of `limits` and `highest` */
  const char* sort;           /**< key of a number, largest first; NULL: purge_g */
  int strict;                 /**< 1: a plate with a warning does not pass */
  int threads;                /**< plates at once; 0: 1. The results are the same */
  const char* history;        /**< an SQLite file that keeps what was tallied; NULL: none */
  long long now_s;            /**< seconds since 1970 in UTC, for the history: this library has no
                                   clock */
} platetally_audit_options;

/** Of the library that is linked, as PLATETALLY_VERSION is of this header. Never freed. */
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

/** Begins a plate whose bytes are handed over in pieces. options->member must be NULL. NULL on
 *  failure. */
PLATETALLY_API platetally_feed* platetally_begin(const char* machine,
                                                 const platetally_options* options, char** error);
/** Hands over the next bytes, and waits while too many (two mebibytes) are unread. Returns 1; or 0 where
 *  no more are of use, and then platetally_finish() says why. */
PLATETALLY_API int platetally_push(platetally_feed* feed, const char* bytes, size_t size,
                                   char** error);
/** There are no more bytes: the account, or NULL on failure. Ends `feed` in any case. */
PLATETALLY_API platetally_account* platetally_finish(platetally_feed* feed, char** error);
/** Ends `feed` without an account. NULL is allowed. */
PLATETALLY_API void platetally_drop(platetally_feed* feed);

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

/** Holds an account against highest values, by key: JSON with "passes" (nothing is over, all could be
 *  checked, and the account is of the whole plate), "over" (an array of objects with "key", "value",
 *  "limit"), "not_checked" (an array of sentences) and "partial". To be freed; NULL on failure. */
PLATETALLY_API char* platetally_limits(const platetally_account* account, const char* const* keys,
                                       const double* highest, size_t count, char** error);

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

/** The order of the tools of the plate at `path`, as it is and at its best: JSON, schema
 *  "platetally.order/1". `options` and `order` may be NULL. To be freed; NULL on failure. */
PLATETALLY_API char* platetally_order(const char* path, const char* machine,
                                      const platetally_options* options,
                                      const platetally_order_options* order, char** error);

/** Plates on machines, the first of which they were sliced for; two plates also as before and after:
 *  JSON, schema "platetally.compare/2". `options` may be NULL. To be freed; NULL on failure. */
PLATETALLY_API char* platetally_compare(const char* const* paths, size_t path_count,
                                        const char* const* machines, size_t machine_count,
                                        const platetally_options* options, char** error);

/** Every plate at or below the paths, worst first: JSON, schema "platetally.audit/1". `options` and
 *  `audit` may be NULL. To be freed; NULL on failure, as where there is nothing to audit; a plate that
 *  cannot be read is a row with its error. */
PLATETALLY_API char* platetally_audit(const char* const* paths, size_t path_count,
                                      const char* machine, const platetally_options* options,
                                      const platetally_audit_options* audit, char** error);

/** What a history (of `platetally audit --history`) holds since `since`, "2026-11-25" or the same
 *  with THH:MM:SS in UTC: plates, sums, weeks, as JSON, schema "platetally.audit/1". To be freed;
 *  NULL on failure. */
PLATETALLY_API char* platetally_history(const char* file, const char* since, char** error);

#ifdef __cplusplus
}
#endif

#endif
