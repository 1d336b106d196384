"""The contract: schemas, examples, the OpenAPI document, the manual."""
