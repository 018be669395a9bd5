//! The line format of journals and bundles: encode, decode, checksum, find the torn tail.
