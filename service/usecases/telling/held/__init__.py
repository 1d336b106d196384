"""What is told of clippings that lie in hold bays."""
