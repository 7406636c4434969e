//! Every finding code is provoked.
