"""What happens to clippings that lie in hold bays: moved, released, measured."""
