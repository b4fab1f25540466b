"""A unit's acts hold what was entered late about it, and what corrects an earlier entry, too."""

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change no table: whoever runs the migration derives the threads from the entries anew."""
