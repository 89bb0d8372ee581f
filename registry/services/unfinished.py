"""What has to be finished before a registry is worked with. Beside upkeep, since every start of the window asks."""

from registry.services.session import Session
from registry.store import imports, rebuild


def finish_work(session: Session) -> None:
    """What a crash left undone: a rebuild half way, an import closed but not folded to its end."""
    if session.signer is None:
        return
    if rebuild.unfinished(session.database):
        rebuild.finish(session.database)
    imports.fold_pending_imports(session.database)
