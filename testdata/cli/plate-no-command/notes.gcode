; thyme, sage and rue
; 40 labels

