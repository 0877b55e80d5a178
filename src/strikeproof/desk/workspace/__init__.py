"""What a workspace holds and where: opened, recognised, verified, backed up, brought back."""
