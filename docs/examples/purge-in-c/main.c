/* purge-in-c PLATE MACHINE   grams purged in every layer, through the C interface. */
#include <stdio.h>
#include <stdlib.h>

#include "platetally/platetally.h"

int main(int argc, char** argv) {
  char* why = NULL;
  platetally_account* account;
  double *index, *purge_g;
  size_t layers, i;
  if (argc != 3)
    return 2;
  account = platetally_tally(argv[1], argv[2], NULL, &why);
  if (account == NULL) {
    fprintf(stderr, "%s\n", why);
    platetally_free_text(why);
    return 1;
  }
  layers = platetally_rows(account, "layers");
  index = malloc((layers + 1) * sizeof(double));
  purge_g = malloc((layers + 1) * sizeof(double));
  if (index == NULL || purge_g == NULL)
    return 1;
  platetally_column(account, "layers.index", index, layers);
  platetally_column(account, "layers.purge_g", purge_g, layers);
  for (i = 0; i < layers; ++i)
    if (purge_g[i] > 0.0)
      printf("%.0f %g g\n", index[i], purge_g[i]);
  free(index);
  free(purge_g);
  platetally_free_account(account);
  return 0;
}
