export type Tally = any; export type Order = any; export type Comparison = any; export type Payback = any; export type Audit = any;
