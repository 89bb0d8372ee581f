"""The journal as pure bytes: canonical text, hash, chain, signature, verification."""
